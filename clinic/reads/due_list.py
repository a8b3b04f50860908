"""The due list of a site: every task of every unit with its state today, worst first."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from clinic.models import Equipment, FollowUp, Site, UpkeepTask
from clinic.reads.follow_ups import open_follow_ups
from clinic.reads.stops import stops_of
from clinic.reads.upkeep import UnitTask, everything, unit_tasks
from clinic.rules.due_wording import Care, CountedHead, counter_sentence, due_head, one_of, rank
from clinic.rules.opening import before_sentence
from clinic.rules.spans import on
from clinic.rules.upkeep_facts import Pause, UpkeepSpan, UpkeepState
from clinic.rules.upkeep_shares import share_in_time
from clinic.rules.wording import overdue_since, rule_sentence, upkeep_sentence
from clinic.rules.words import day_words

BACK, AHEAD = timedelta(days=335), timedelta(days=30)
PRESSING = (UpkeepState.OVERDUE, UpkeepState.DUE)


@dataclass(frozen=True, slots=True)
class DueRow:
    """One task on one unit as the page shows it. `share`: of the days in the picture so far, 0 to 1. The picture is for a page
    that read as far back as it reaches."""

    unit: Equipment
    task: UpkeepTask
    state: UpkeepState | None
    says: str
    counter: str
    often: str
    last: str
    was_done: bool  # ever, before the register or since
    since: date | None
    spans: Sequence[UpkeepSpan]
    entry_days: Sequence[date]
    share: float | None
    first: date
    after: date
    today: date


@dataclass(frozen=True, slots=True)
class UnitCare:
    """A unit with its tasks, worst first; since when it is out of service, and what is still out of limits."""

    unit: Equipment
    rows: Sequence[DueRow]
    stopped: Pause | None
    follow_ups: Sequence[FollowUp]

    @property
    def pressing(self) -> list[DueRow]:
        return [row for row in self.rows if row.state in PRESSING]

    @property
    def quiet(self) -> list[DueRow]:
        """What is in order, or stands still."""
        return [row for row in self.rows if row.state not in PRESSING]

    @property
    def is_quiet(self) -> bool:
        return not (self.pressing or self.stopped or self.follow_ups)

    @property
    def rank(self) -> int:
        """What is out of limits comes first, then by the worst task."""
        return -1 if self.follow_ups else min((rank(row.state) for row in self.rows), default=rank(None))


@dataclass(frozen=True, slots=True)
class DueList:
    head: CountedHead
    worst: UpkeepState | None
    units: Sequence[UnitCare]
    first: date
    after: date

    @property
    def loud(self) -> list[UnitCare]:
        return [unit for unit in self.units if not unit.is_quiet]

    @property
    def in_order(self) -> list[UnitCare]:
        return [unit for unit in self.units if unit.is_quiet]


def due_list(site: Site, today: date) -> DueList:
    """Everything in service today. The number of queries does not depend on how much there is."""
    cares = cares_of(site, units_now(site, today), today)
    rows = [row for care in cares for row in care.rows]
    worst = min((row.state for row in rows), key=rank, default=None)
    ordered = sorted(cares, key=lambda care: (care.rank, care.unit.kind, care.unit.label))
    return DueList(head_of(cares), worst, ordered, today - BACK, today + AHEAD)


def due_now(site: Site, today: date) -> list[DueRow]:
    """What is overdue or due, worst first within each unit; the days before today are not looked at."""
    rows = [row_of(task, today) for task in unit_tasks(site, units_now(site, today), since=today)]
    pressing = [row for row in rows if row.state in PRESSING]
    return sorted(pressing, key=lambda row: (rank(row.state), row.unit.kind, row.unit.label, row.task.code))


def units_now(site: Site, today: date) -> list[Equipment]:
    return [unit for unit in everything(site) if in_service(unit, today)]


def head_of(cares: Sequence[UnitCare]) -> CountedHead:
    """The first sentence, of the rows of these units and nothing else."""
    rows = [row for care in cares for row in care.rows]
    return due_head(
        Care(
            states=[row.state for row in rows],
            done=sum(row.was_done for row in rows),
            since=min((row.since for row in rows if row.since), default=None),
            stopped=sum(care.stopped is not None for care in cares),
            out=sum(len(care.follow_ups) for care in cares),
        )
    )


def in_service(unit: Equipment, day: date) -> bool:
    return unit.in_service_from <= day and (unit.in_service_to is None or day <= unit.in_service_to)


def cares_of(
    site: Site, units: Sequence[Equipment], today: date, waiting: Sequence[FollowUp] | None = None
) -> list[UnitCare]:
    """`waiting`: the open follow-ups of the site, where they are read already."""
    waiting, stops = open_follow_ups(site) if waiting is None else waiting, stops_of(site)
    by_unit: dict[Any, list[UnitTask]] = defaultdict(list)
    for task in unit_tasks(site, units, since=today - BACK):
        by_unit[task.unit.pk].append(task)
    return [care_of(unit, by_unit[unit.pk], stops[unit.pk], waiting, today) for unit in units]


def care_of(
    unit: Equipment, tasks: Sequence[UnitTask], stops: Sequence[Pause], waiting: Sequence[FollowUp], today: date
) -> UnitCare:
    rows = sorted((row_of(task, today) for task in tasks), key=lambda row: (rank(row.state), row.task.code))
    stopped = next((stop for stop in stops if stop.holds_on(today)), None)
    return UnitCare(unit, rows, stopped, [one for one in waiting if one.entry.equipment_id == unit.pk])


def row_of(one: UnitTask, today: date) -> DueRow:
    span, rule, word = on(one.spans, today), one.rule_on(today), one.task.unit_word
    units = 0 if rule.every_units is None else one.units_on(today)
    return DueRow(
        unit=one.unit,
        task=one.task,
        state=span.state if span else None,
        says=upkeep_sentence(one.spans, today, word=word, one=one_of(word)),
        counter=counter_sentence(rule, units, word),
        often=rule_sentence(rule, word),
        last=last_words(one),
        was_done=bool(one.last or one.life.opening_last_done),
        since=overdue_since(one.spans, today),
        spans=one.spans,
        entry_days=[entry.day for entry in one.entries],
        share=share_in_time(one.spans, today - BACK, today + timedelta(days=1)),
        first=today - BACK,
        after=today + AHEAD,
        today=today,
    )


def last_words(one: UnitTask) -> str:
    """Last 18 November 2026, Hanna Kowalczyk: Tools counted yes."""
    if one.last is None:
        return before_sentence(one.opening, one.life) or "Not done since it is in service"
    return f"Last {day_words(one.last.day)}, {one.last.by}"
