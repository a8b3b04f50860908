"""How often each task is due at a site, where that comes from, and when the practice was closed."""

from dataclasses import dataclass
from datetime import date

from clinic.models import Closure, Site, TaskSetting, UpkeepTask
from clinic.reads.upkeep import default_rule
from clinic.rules.upkeep_facts import TaskRule
from clinic.rules.wording import rule_sentence


@dataclass(frozen=True, slots=True)
class TaskInterval:
    task: UpkeepTask
    says: str
    source: str
    since: date | None  # None: the default

    @property
    def is_default(self) -> bool:
        return self.since is None


def intervals_of(site: Site, today: date) -> list[TaskInterval]:
    """The interval in force today for each task: the site's own, or the default."""
    own = {row.task_id: row for row in TaskSetting.objects.live().filter(site=site, happened_on__lte=today).in_order()}
    return [interval_of(task, own.get(task.pk)) for task in UpkeepTask.objects.all()]


def interval_of(task: UpkeepTask, own: TaskSetting | None) -> TaskInterval:
    if own is None:
        return TaskInterval(task, rule_sentence(default_rule(task), task.unit_word), task.source, None)
    rule = TaskRule(task.code, own.every_days, own.every_units, own.warn_days, own.plan_units, task.only_a_pass)
    return TaskInterval(task, rule_sentence(rule, task.unit_word), own.source, own.happened_on)


def closures_of(site: Site) -> list[Closure]:
    return list(Closure.objects.live().filter(site=site).order_by("-first", "pk"))
