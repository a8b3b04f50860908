"""Water, filter and purge of one milling unit, which are done together as one work."""

from datetime import date

from clinic.models import Equipment, Site, UpkeepTask
from clinic.rules.roles import KIND_OF, TaskRole

TOGETHER = (TaskRole.WATER_CHANGE, TaskRole.FILTER_CHANGE, TaskRole.PURGE)
"""In the order of the work."""


def water_work(site: Site, unit: Equipment, today: date) -> list[tuple[Equipment, UpkeepTask]]:
    """Each task with the unit, or the part of it, that it is done on; only what is there and in service. Two queries."""
    tasks = {task.stands_for: task for task in UpkeepTask.objects.filter(stands_for__in=TOGETHER).order_by("-code")}
    here = {each.kind: each for each in [unit, *unit.parts.filter(site=site).in_service_on(today)]}
    return [(here[KIND_OF[role]], tasks[role]) for role in TOGETHER if role in tasks and KIND_OF[role] in here]
