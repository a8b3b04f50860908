"""The words of upkeep: how often, from when to when, and the facts that are recorded about it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from enum import StrEnum
from typing import TypeVar

from clinic.rules.spans import Span

DAY = timedelta(days=1)
OPENING = "opening"


class UpkeepState(StrEnum):
    IN_TIME = "in time"
    DUE = "due"
    OVERDUE = "overdue"
    PAUSED = "paused"
    OUT_OF_SERVICE = "out of service"


class PauseReason(StrEnum):
    OUT_OF_SERVICE = "out of service"
    CLOSED = "closed"
    PAUSED = "paused"


@dataclass(frozen=True, slots=True)
class TaskRule:
    """How often: every so many days, units of use, or both, whichever comes first. Days and units are whole numbers.

    `only_a_pass`: only a pass moves the due day; neither a pause nor an entry that failed does (T-10).
    """

    code: str
    every_days: int | None = None
    every_units: int | None = None
    warn_days: int = 0
    plan_units: int | None = None
    only_a_pass: bool = False


DatedRule = tuple[date, TaskRule]


@dataclass(frozen=True, slots=True)
class EquipmentLife:
    """`in_service_to` is the last day in service; `opening_units` the use since the last done day when first read."""

    in_service_from: date
    in_service_to: date | None = None
    opening_last_done: date | None = None
    opening_units: int = 0

    @property
    def last_done(self) -> date:
        return self.opening_last_done or self.in_service_from

    @property
    def first(self) -> date:
        """The first day anything is said about."""
        return max(self.in_service_from, self.last_done)

    @property
    def after(self) -> date | None:
        return self.in_service_to + DAY if self.in_service_to else None

    def counts_use_of(self, day: date) -> bool:
        """Use of the first day in service counts; use of the day an opening reading names lies before it."""
        return day > self.last_done if self.opening_last_done else day >= self.in_service_from


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedFact:
    """A fact. `plain_voiding` stands for nothing itself: it only takes away the fact it corrects."""

    id: str
    day: date
    recorded_at: datetime
    at: time | None = None
    corrects: str | None = None
    plain_voiding: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry(RecordedFact):
    """One time the task was done. `passed`: nothing that was read was out of limits, and nothing is still to be read."""

    passed: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Use(RecordedFact):
    units: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Pause(RecordedFact):
    """From `day` up to, not including, `after` (None: not ended)."""

    after: date | None = None
    why: PauseReason = PauseReason.PAUSED

    def holds_on(self, day: date) -> bool:
        return self.day <= day and (self.after is None or day < self.after)


@dataclass(frozen=True, slots=True)
class UpkeepSpan(Span[UpkeepState]):
    """`last_good`: the last good day by what is known (None: nothing sets one). `units_left`: at the span's end."""

    last_good: date | None = None
    units_left: int | None = None


R = TypeVar("R", bound=RecordedFact)


def standing_facts(facts: Iterable[R], known_by: datetime | None = None) -> tuple[R, ...]:
    """The facts that are known and not voided, in the order of day, time (none is last), recorded, id."""
    known = {fact.id: fact for fact in facts if known_by is None or fact.recorded_at <= known_by}
    voided = {fact.corrects for fact in known.values()}
    live = (fact for fact in known.values() if fact.id not in voided and not fact.plain_voiding)
    return tuple(sorted(live, key=lambda fact: _place(fact, known)))


def _place(fact: RecordedFact, known: Mapping[str, RecordedFact]) -> tuple[date, bool, time, datetime, str]:
    recorded_at = fact.recorded_at if fact.corrects is None else _first_of_chain(fact, known).recorded_at
    return (fact.day, fact.at is None, fact.at or time.min, recorded_at, fact.id)


def _first_of_chain(fact: RecordedFact, known: Mapping[str, RecordedFact]) -> RecordedFact:
    passed = {fact.id}
    while fact.corrects and fact.corrects in known and fact.corrects not in passed:
        fact = known[fact.corrects]
        passed.add(fact.id)
    return fact


def in_life(life: EquipmentLife, facts: Iterable[R]) -> list[R]:
    """Those of the days from the first in service to the last."""
    first, after = life.first, life.after
    return [fact for fact in facts if first <= fact.day and (after is None or fact.day < after)]
