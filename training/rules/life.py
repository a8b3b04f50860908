"""The life of sign-offs: from when to when each is alive, and what ends it.

Readings of the text:

1. "Sign-off" alone means a signed one or a countable session of a topic. Carried-over records and founding grants
   are meant only where the text names them: they give the next sign-off no early start, and nothing renews them.
2. Facts that should have been refused have no effect when they are there anyway: anything signed, granted or
   carried over before the first version is in force or on an unknown version; a carried-over record with a sign-off
   before it, even one withdrawn since; a founding grant while a sign-off is alive.
3. A founding grant and a carried-over record follow the version in force on their day. The version signed is the
   one named.
4. For the idle limit an assessment counts by any method the signed version takes, for a first sign-off or for a
   renewal, whichever version it was marked against. Upkeep counts on days that end alive and not on hold.
5. "Fewer than 12 months" compares the month of the start with the month of the first sign-off (the earliest day,
   not its start). With no renewal months but first-year months, first-year sign-offs end by the calendar and later
   ones never.
6. A sign-off that never ends by the calendar is never earlier than the one it renews.
7. On hold looks at the day's retirement: a prerequisite retired by that day is asked of nobody. A prerequisite
   without a known version is never usable.
"""

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

from clinic.rules.days import months_between, plus_months
from training.rules.facts import (
    Basis,
    CarriedOver,
    DidUpkeep,
    Ending,
    Fact,
    Founded,
    Observed,
    Outcome,
    Signed,
    TaughtCountable,
    VersionFact,
    WatchedOthers,
    Withdrawn,
)
from training.rules.order import Versions, days_after, days_before, earlier

FIRST_YEAR = 12  # months
SIGNS = (Signed, TaughtCountable)  # a sign-off in the narrow sense
BASIS = {
    Signed: Basis.OBSERVED,
    TaughtCountable: Basis.TAUGHT,
    CarriedOver: Basis.CARRIED_OVER,
    Founded: Basis.FOUNDING,
}


@dataclass(frozen=True, slots=True)
class Prerequisite:
    """When the person is usable in it: half-open runs of days, ascending. From `retired_on` it is asked of nobody."""

    code: str
    runs: tuple[tuple[date, date | None], ...] = ()
    retired_on: date | None = None

    def is_kept(self, day: date, grace: int) -> bool:
        """Usable on one of the days day − grace … day, or no longer asked."""
        if self.retired_on is not None and self.retired_on <= day:
            return True
        index = bisect_right(self.runs, day, key=lambda run: run[0]) - 1
        if index < 0:
            return False
        after = self.runs[index][1]
        return after is None or day < days_after(after, grace)

    def is_usable_on(self, day: date) -> bool:
        index = bisect_right(self.runs, day, key=lambda run: run[0]) - 1
        if index < 0:
            return False
        after = self.runs[index][1]
        return after is None or day < after

    def edges(self, grace: int = 0) -> set[date]:
        """The days on which the answer may change."""
        ends = {days_after(after, grace) for _, after in self.runs if after is not None}
        return ends | {first for first, _ in self.runs} | ({self.retired_on} if self.retired_on else set())


Prerequisites = Mapping[str, Prerequisite]


def not_kept(version: VersionFact, prerequisites: Prerequisites, day: date, grace: int = 0) -> tuple[str, ...]:
    """The prerequisites of the version that fail it on the day, in the version's order."""
    return tuple(failing(version, prerequisites, day, grace))


def failing(version: VersionFact, prerequisites: Prerequisites, day: date, grace: int) -> Iterator[str]:
    for code in version.policy.prerequisites:
        if code not in prerequisites or not prerequisites[code].is_kept(day, grace):
            yield code


def hold_on(version: VersionFact, prerequisites: Prerequisites, day: date) -> str | None:
    """The first prerequisite that puts a sign-off of this version on hold on the day."""
    return next(failing(version, prerequisites, day, version.policy.grace_days), None)


class Life(NamedTuple):
    """One sign-off, carried-over record or founding grant, and how long it lasts if nothing replaces it.

    `position` is its place among the live facts. `notice_from` is the first of the notice days. `last_day` is the last good
    day, None when nothing known ends it.
    """

    fact: Fact
    position: int
    basis: Basis
    version: VersionFact
    start: date
    valid_until: date | None
    notice_from: date | None
    last_day: date | None = None
    ending: Ending | None = None
    deadline: int | None = None  # the version whose deadline ends it
    idle_until: date | None = None  # the idle limit that the last performance left; None: no idle limit

    @property
    def is_signed(self) -> bool:
        """A sign-off in the narrow sense: renewable, and a previous sign-off to the next."""
        return isinstance(self.fact, SIGNS)

    def is_alive(self, day: date) -> bool:
        return self.fact.day <= day and (self.last_day is None or day <= self.last_day)


@dataclass(frozen=True, slots=True)
class End:
    """A withdrawal in effect."""

    fact: Fact
    position: int


Decision = Life | End


@dataclass(slots=True)
class Running:
    """A walk through a person's facts in order. The newest sign-off is kept with the idle limit then running."""

    versions: Versions
    prerequisites: Prerequisites
    decisions: list[Decision] = field(default_factory=list)
    idle_limit: date | None = None
    first: date | None = None  # the earliest day signed since the last withdrawal
    was_signed: bool = False

    def take(self, position: int, fact: Fact) -> None:
        if isinstance(fact, Withdrawn):
            self.settle()
            self.decisions.append(End(fact, position))
            self.first = None
        elif type(fact) in BASIS:
            self.begin(position, fact)
        elif self.newest is not None and self.is_performance(self.newest, fact):
            self.idle_limit = idle_limit(self.newest.version, fact.day)

    @property
    def newest(self) -> Life | None:
        """The sign-off that decides now, however long ago it lapsed."""
        last = self.decisions[-1] if self.decisions else None
        return last if isinstance(last, Life) else None

    def is_performance(self, life: Life, fact: Fact) -> bool:
        if self.idle_limit is None or not life.fact.day <= fact.day <= self.idle_limit:
            return False
        if isinstance(fact, Observed):
            policy = life.version.policy
            counts = fact.method in policy.methods or fact.method in policy.renewal_methods
            return counts and fact.assessment and fact.outcome is Outcome.MET
        if isinstance(fact, DidUpkeep):
            return hold_on(life.version, self.prerequisites, fact.day) is None
        return isinstance(fact, WatchedOthers)

    def begin(self, position: int, fact: Fact) -> None:
        version = self.version_of(fact)
        self.settle()
        if version is None or self.is_refused(fact):
            return
        self.was_signed = self.was_signed or isinstance(fact, SIGNS)
        if not isinstance(fact, Founded):
            self.first = earlier(self.first, fact.original_day if isinstance(fact, CarriedOver) else fact.day)
        start, valid_until = self.given_days(fact, version)
        notice_from = None if valid_until is None else days_before(valid_until, version.policy.notice_days)
        self.idle_limit = idle_limit(version, fact.day)
        given = (fact, position, BASIS[type(fact)], version, start, valid_until, notice_from)
        self.decisions.append(Life(*given))

    def version_of(self, fact: Fact) -> VersionFact | None:
        in_force = self.versions.in_force_on(fact.day)
        if in_force is None:
            return None
        return self.versions.numbered(fact.version) if isinstance(fact, SIGNS) else in_force

    def is_refused(self, fact: Fact) -> bool:
        if isinstance(fact, CarriedOver):
            return self.was_signed
        newest = self.newest
        return isinstance(fact, Founded) and newest is not None and newest.is_signed and newest.is_alive(fact.day)

    def given_days(self, fact: Fact, version: VersionFact) -> tuple[date, date | None]:
        """Start and valid_until."""
        if isinstance(fact, CarriedOver | Founded):
            return fact.day, fact.valid_until
        newest = self.newest
        renewed = newest if newest is not None and newest.is_signed and newest.is_alive(fact.day) else None
        start = early_start(renewed, fact.day)
        return start, valid_until(version, start, self.first or fact.day, renewed)

    def settle(self) -> None:
        """What ends the newest sign-off, as made by the facts so far; a later one takes over from here."""
        newest = self.newest
        if newest is not None:
            self.decisions[-1] = ended(newest, self.versions, self.idle_limit)


def decisions(facts: Sequence[Fact], versions: Versions, prerequisites: Prerequisites) -> tuple[Decision, ...]:
    """The sign-offs (carried-over and founding included) and withdrawals that have effect, in order. Linear in the
    facts."""
    running = Running(versions, prerequisites)
    for position, fact in enumerate(facts):
        running.take(position, fact)
    running.settle()
    return tuple(running.decisions)


def early_start(renewed: Life | None, day: date) -> date:
    """The day itself, or the valid_until of the living sign-off before it when made in that one's notice days."""
    if renewed is None or renewed.valid_until is None or renewed.notice_from is None or day < renewed.notice_from:
        return day
    return renewed.valid_until


def valid_until(version: VersionFact, start: date, first: date, renewed: Life | None) -> date | None:
    """The last good day by the calendar; None when it never ends so. `first`: the first sign-off since the last
    withdrawal."""
    policy = version.policy
    in_first_year = policy.first_year_months is not None and months_between(first, start) < FIRST_YEAR
    months = policy.first_year_months if in_first_year else policy.renewal_months
    if months is None:
        return None
    until = plus_months(start, months)
    if renewed is not None and renewed.version.number == version.number and renewed.valid_until is not None:
        return max(until, renewed.valid_until)
    return until


def idle_limit(version: VersionFact, performed_on: date) -> date | None:
    days = version.policy.idle_days
    return None if days is None else days_after(performed_on, days)


def deadlines(version: VersionFact, versions: Versions) -> Iterable[tuple[date, int]]:
    """The last good day that each later version leaves a sign-off of this one, with that version's number."""
    for later in versions.later_than(version.number):
        if later.policy.reobserve_days is not None:
            yield days_after(later.in_force_from, later.policy.reobserve_days), later.number


def ended(life: Life, versions: Versions, idle: date | None) -> Life:
    """The same life with what ends it: the earliest day, and on a tie deadline, idle, valid_until in this order."""
    last, number = min(deadlines(life.version, versions), default=(None, None))
    ending = Ending.DEADLINE if last else None
    for day, why in ((idle, Ending.IDLE), (life.valid_until, Ending.VALID_UNTIL)):
        if day is not None and (last is None or day < last):
            last, ending, number = day, why, None
    return life._replace(last_day=last, ending=ending, deadline=number, idle_until=idle)
