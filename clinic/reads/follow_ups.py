"""Readings out of limits that no good reading has closed yet, and those that one has."""

from collections import defaultdict
from collections.abc import Collection, Sequence
from datetime import datetime
from typing import Any

from django.db.models import QuerySet

from clinic.models import FollowUp, ResultRead, Site, UpkeepEntry
from clinic.prepared import Instances, Prepared
from clinic.rules.follow_ups import Good, Out, closed_on

Place = tuple[Any, Any]  # unit, task


def follow_ups(site: Site, known_by: datetime | None = None, places: Collection[Place] | None = None) -> list[FollowUp]:
    """All of the site that stand, oldest due day first, each with `closed_on` (None: open). Three queries. `places`: only
    those of these units and tasks."""
    return follow_ups_at([site], known_by, places)


def follow_ups_at(
    sites: Sequence[Site], known_by: datetime | None = None, places: Collection[Place] | None = None
) -> list[FollowUp]:
    """The same of several sites, in as many queries."""
    rows = OUTS.all(
        known_by,
        sites=[site.pk for site in sites],
        units=None if places is None else {unit for unit, _ in places},
        tasks=None if places is None else {task for _, task in places},
    )
    return with_closings(rows, known_by)


def outs(sites: Any, units: Any, tasks: Any, known_by: datetime | None = None) -> QuerySet[FollowUp]:
    rows = FollowUp.objects.standing(known_by).filter(site__in=sites).select_related("entry__equipment", "entry__task")
    rows = rows if units is None else rows.filter(entry__equipment__in=units, entry__task__in=tasks)
    return rows.order_by("due_on", "recorded_at", "pk")


OUTS = Instances(FollowUp, outs)


def with_closings(rows: Sequence[FollowUp], known_by: datetime | None = None) -> list[FollowUp]:
    goods = goods_for(rows, known_by)
    for row in rows:
        row.closed_on = closed_on(plain(row), goods.get(place_of(row), ()))
    return list(rows)


def place_of(row: FollowUp) -> Place:
    return row.entry.equipment_id, row.entry.task_id


def plain(row: FollowUp) -> Out:
    return Out(str(row.pk), place_of(row), row.reading, row.happened_on, row.recorded_at)


def goods_for(rows: Sequence[FollowUp], known_by: datetime | None) -> dict[Place, list[Good]]:
    """Every reading that was taken where one of these was out, and was not out itself."""
    found: dict[Place, list[Good]] = defaultdict(list)
    if not rows:
        return found
    bad = {(row.result_id or row.entry_id, row.reading) for row in rows}
    places, first = {place_of(row) for row in rows}, min(row.happened_on for row in rows)
    where: dict[str, Any] = {
        "units": {unit for unit, _ in places},
        "tasks": {task for _, task in places},
        "first": [first],
    }
    taken = ((row[0], *row) for row in TAKEN.rows(known_by, **where))
    for sampled, known, recorded, pk, unit, task, readings in [*taken, *READ_LATER.rows(known_by, **where)]:
        keys = frozenset(key for key, value in readings.items() if value not in ("", None) and (pk, key) not in bad)
        found[unit, task].append(Good((unit, task), keys, sampled, known, recorded))
    return found


def entries_from(units: Any, tasks: Any, first: Any, known_by: datetime | None = None) -> QuerySet[UpkeepEntry]:
    entries = UpkeepEntry.objects.live(known_by).filter(equipment__in=units, task__in=tasks)
    return entries.filter(happened_on__gte=first[0])


def at_once(**where: Any) -> QuerySet[UpkeepEntry, Any]:
    """What was read on the day of the sample."""
    names = ("happened_on", "recorded_at", "pk", "equipment", "task", "readings")
    return entries_from(**where).values_list(*names)  # type: ignore[no-any-return]


def later(known_by: datetime | None = None, **where: Any) -> QuerySet[ResultRead, Any]:
    """The day of the sample, then the same of what was read of it later."""
    rows = ResultRead.objects.live(known_by).filter(entry__in=entries_from(known_by=known_by, **where))
    names = ("entry__happened_on", "happened_on", "recorded_at", "pk", "entry__equipment", "entry__task", "readings")
    return rows.values_list(*names)  # type: ignore[no-any-return]


TAKEN, READ_LATER = Prepared(at_once), Prepared(later)


def open_follow_ups(site: Site, known_by: datetime | None = None) -> list[FollowUp]:
    return open_follow_ups_at([site], known_by)


def open_follow_ups_at(sites: Sequence[Site], known_by: datetime | None = None) -> list[FollowUp]:
    return [row for row in follow_ups_at(sites, known_by) if row.closed_on is None]
