"""Days in time of a site between two days: by task, by unit with its picture, and altogether."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from clinic.models import Equipment, Site, UpkeepTask
from clinic.reads.upkeep import UnitTask, everything, unit_tasks
from clinic.reads.use import LOOK_BACK, Counter, counters_among
from clinic.rules.days_in_time import DaysInTime, days_in_time, late_stretches, share_words, stretch_words, together
from clinic.rules.words import counted

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class TaskDays:
    """One task over all the units that need it."""

    task: UpkeepTask
    units: int
    days: DaysInTime

    @property
    def says(self) -> str:
        return share_words(self.days)


@dataclass(frozen=True, slots=True)
class TrackDays:
    """One task on one unit: its spans for the picture, and in words which days were overdue."""

    one: UnitTask
    days: DaysInTime
    late: Sequence[str]

    @property
    def says(self) -> str:
        return share_words(self.days)

    @property
    def entry_days(self) -> list[date]:
        return [entry.day for entry in self.one.entries]


@dataclass(frozen=True, slots=True)
class UnitDays:
    unit: Equipment
    tracks: Sequence[TrackDays]
    counters: Sequence[Counter]

    @property
    def days(self) -> DaysInTime:
        return together(track.days for track in self.tracks)

    @property
    def says(self) -> str:
        return share_words(self.days)


@dataclass(frozen=True, slots=True)
class SiteDays:
    """Tasks and units, those with most overdue days first. `after`: the day after the last."""

    first: date
    last: date
    tasks: Sequence[TaskDays]
    units: Sequence[UnitDays]

    @property
    def after(self) -> date:
        return self.last + DAY

    @property
    def days(self) -> DaysInTime:
        return together(task.days for task in self.tasks)

    @property
    def sentence(self) -> str:
        if not self.days.counted:
            return "No task day lies between these days."
        late = counted(self.days.overdue, "task day was", "task days were") if self.days.overdue else "none was"
        return f"In time on {share_words(self.days).replace('days', 'task days')}; {late} overdue."


def site_days(site: Site, first: date, last: date, today: date) -> SiteDays:
    """Every unit that was in service on one of the days. A fixed number of queries. Earlier days are read only as far as the
    counters of today look back."""
    since = min(first, today - LOOK_BACK)
    return days_of(unit_tasks(site, everything(site), since=since), first, last, today)


def days_of(found: Iterable[UnitTask], first: date, last: date, today: date) -> SiteDays:
    """The same of tasks that are read already."""
    tracks = [track_of(one, first, last) for one in found]
    by_task: dict[Any, list[TrackDays]] = defaultdict(list)
    by_unit: dict[Any, list[TrackDays]] = defaultdict(list)
    for track in tracks:
        if track.days.counted or track.days.stopped:
            by_task[track.one.task].append(track)
            by_unit[track.one.unit].append(track)
    tasks = [TaskDays(task, len(mine), together(track.days for track in mine)) for task, mine in by_task.items()]
    units = [
        UnitDays(unit, mine, counters_among([track.one for track in mine], today)) for unit, mine in by_unit.items()
    ]
    return SiteDays(first, last, sorted(tasks, key=latest_first), sorted(units, key=latest_first))


def latest_first(row: TaskDays | UnitDays) -> tuple[int, str]:
    return -row.days.overdue, row.task.code if isinstance(row, TaskDays) else row.unit.label


def track_of(one: UnitTask, first: date, last: date) -> TrackDays:
    late = [stretch_words(run) for run in late_stretches(one.spans, first, last)]
    return TrackDays(one, days_in_time(one.spans, first, last), late)
