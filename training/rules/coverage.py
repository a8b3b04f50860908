"""Who can cover a duty on each working day: how many, where too few, whose lapse causes it, when nobody can sign.

Everything is plain data, for one site. Stretches are (first, after), half-open; `after` None has no known end.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property

Stretch = tuple[date, date | None]


@dataclass(frozen=True, slots=True)
class Staff:
    """One person: weekdays worked (Monday is 0), absences, and per duty when usable and when able to sign."""

    name: str
    weekdays: frozenset[int]
    absences: tuple[Stretch, ...] = ()
    usable: Mapping[str, tuple[Stretch, ...]] = field(default_factory=dict)
    may_sign: Mapping[str, tuple[Stretch, ...]] = field(default_factory=dict)
    ready_by: Mapping[str, date] = field(default_factory=dict)

    def at_work(self, day: date) -> bool:
        return day.weekday() in self.weekdays and not inside(self.absences, day)


@dataclass(frozen=True, slots=True)
class DutyDay:
    """`lost` are those at work whose usable stretch ended on or before the day, with the last good day of it."""

    day: date
    usable: tuple[str, ...]
    minimum: int
    lost: tuple[tuple[str, date], ...]
    signers: tuple[str, ...]

    @property
    def short(self) -> int:
        return max(0, self.minimum - len(self.usable))


@dataclass(frozen=True, slots=True)
class Repair:
    """The training that brings one more person to the duty soonest, and the day that person may work alone."""

    name: str
    ready: date


@dataclass(frozen=True)
class DutyCoverage:
    duty: str
    days: tuple[DutyDay, ...]
    repair: Repair | None

    @cached_property
    def short_days(self) -> tuple[DutyDay, ...]:
        return tuple(day for day in self.days if day.short)

    @cached_property
    def unsigned_days(self) -> tuple[date, ...]:
        """Working days on which nobody at work can sign."""
        return tuple(day.day for day in self.days if not day.signers)


def inside(stretches: Iterable[Stretch], day: date) -> bool:
    for first, after in stretches:  # noqa: SIM110 - asked for each person, duty and day; any() takes twice as long
        if first <= day and (after is None or day < after):
            return True
    return False


def days_inside(stretches: Iterable[Stretch], days: Sequence[date]) -> frozenset[date]:
    """Those of the days, which are in order, that lie in any of the stretches."""
    found: set[date] = set()
    for first, after in stretches:
        found.update(days[bisect_left(days, first) : bisect_left(days, after) if after else None])
    return frozenset(found)


@dataclass(frozen=True, slots=True)
class Held:
    """On which of the days one person is usable in one duty, and when each stretch of it ended, in order."""

    days: frozenset[date]
    ends: list[date]

    @classmethod
    def of(cls, stretches: Sequence[Stretch], days: Sequence[date]) -> "Held":
        ends = sorted(after for first, after in stretches if after is not None and first < after)
        return cls(days_inside(stretches, days), ends)

    def last_good(self, day: date) -> date | None:
        """The last day of the newest stretch that ended on or before the day."""
        place = bisect_right(self.ends, day)
        return self.ends[place - 1] - timedelta(days=1) if place else None


def coverage(
    staff: Sequence[Staff],
    minimums: Mapping[str, int],
    today: date,
    *,
    days: int = 90,
    closed: Sequence[Stretch] = (),
) -> list[DutyCoverage]:
    """Per duty, each coming working day from today. A working day is one on which the site is open and somebody is
    rostered, absent or not: a day on which all are away is a day without cover, not a day off."""
    open_days = list(_working_days(staff, today, days, closed))
    at_work = [(day, [person for person in staff if person.at_work(day)]) for day in open_days]
    return [_duty(staff, duty, minimum, at_work) for duty, minimum in minimums.items()]


def _working_days(staff: Sequence[Staff], today: date, days: int, closed: Sequence[Stretch]) -> Iterator[date]:
    rostered = frozenset[int]().union(*(person.weekdays for person in staff))
    for day in (today + timedelta(days=n) for n in range(days)):
        if day.weekday() in rostered and not inside(closed, day):
            yield day


def _duty(
    staff: Sequence[Staff], duty: str, minimum: int, at_work: Sequence[tuple[date, Sequence[Staff]]]
) -> DutyCoverage:
    days = [day for day, _ in at_work]
    held = {person.name: Held.of(stretches, days) for person in staff if (stretches := person.usable.get(duty, ()))}
    signing = {person.name: days_inside(may, days) for person in staff if (may := person.may_sign.get(duty, ()))}
    found = tuple(_day([p.name for p in here], held, signing, minimum, day) for day, here in at_work)
    short = next((day for day in found if day.short), None)
    return DutyCoverage(duty, found, _repair(staff, duty, short.day) if short else None)


def _day(
    here: Sequence[str],
    held: Mapping[str, Held],
    signing: Mapping[str, Collection[date]],
    minimum: int,
    day: date,
) -> DutyDay:
    """`here` are those at work that day; `held` and `signing`, when those who ever were are usable in the duty and able to
    sign it."""
    able = [name for name in here if name in held]
    usable = tuple(name for name in able if day in held[name].days)
    signers = tuple(name for name in here if name in signing and day in signing[name])
    ends = [(name, held[name].last_good(day)) for name in able if name not in usable]
    return DutyDay(day, usable, minimum, tuple((name, end) for name, end in ends if end), signers)


def _repair(staff: Sequence[Staff], duty: str, short: date) -> Repair | None:
    """Among those not usable on the first short day, the one who can be ready first; the name decides a tie."""
    lacking = (p for p in staff if duty in p.ready_by and not inside(p.usable.get(duty, ()), short))
    first = min(lacking, key=lambda p: (p.ready_by[duty], p.name), default=None)
    return Repair(first.name, first.ready_by[duty]) if first else None
