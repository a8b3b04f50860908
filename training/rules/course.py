"""One person in one procedure, resolved: the facts in order, what was decided, and what it rests on."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from clinic.rules.days import plus_months
from training.rules.facts import CheckTaken, Fact, Observed, VersionFact, Withdrawn
from training.rules.life import SIGNS, Decision, Life, Prerequisites
from training.rules.order import Versions, days_after

RENEWABLE_MONTHS = 12  # after the last day of a sign-off
COUNT = (Observed, CheckTaken)  # what evidence may be made of
TURN = (*COUNT, *SIGNS, Withdrawn)  # what may make a day's evidence another one
Offered = tuple[tuple[date, int], ...]


@dataclass(frozen=True)
class Course:
    """One person in one procedure, resolved: what the evidence of any day is read from."""

    procedure: str
    facts: tuple[Fact, ...]  # live, in order
    versions: Versions
    decisions: tuple[Decision, ...]
    prerequisites: Prerequisites
    offered: Offered = ()
    _hold_days: dict[int, list[date]] = field(default_factory=dict, repr=False, compare=False)

    @cached_property
    def days(self) -> list[date]:
        return [fact.day for fact in self.facts]

    @cached_property
    def turning_days(self) -> list[date]:
        return [fact.day for fact in self.facts if isinstance(fact, TURN)]

    @cached_property
    def may_count(self) -> list[tuple[int, Observed | CheckTaken]]:
        """Each observation and check result with its position."""
        return [(position, fact) for position, fact in enumerate(self.facts) if isinstance(fact, COUNT)]

    @cached_property
    def days_that_may_count(self) -> list[date]:
        return [fact.day for _, fact in self.may_count]

    @cached_property
    def withdrawals(self) -> list[int]:
        return [position for position, fact in enumerate(self.facts) if isinstance(fact, Withdrawn)]

    @cached_property
    def misses(self) -> list[int]:
        return [position for position, fact in self.may_count if isinstance(fact, Observed) and fact.critical_miss]

    @cached_property
    def signed(self) -> list[Life]:
        return [life for life in self.decisions if isinstance(life, Life) and life.is_signed]

    @cached_property
    def signed_at(self) -> list[int]:
        return [life.position for life in self.signed]

    @cached_property
    def renewable_until(self) -> list[date | None]:
        """The last day on which each sign-off is renewed rather than made anew; None where it never ends."""
        return [life.last_day and plus_months(life.last_day, RENEWABLE_MONTHS) for life in self.signed]

    @cached_property
    def renewals_over(self) -> list[date]:
        """The days from which a sign-off is no longer renewed, where nothing was signed again until then."""
        signed_next = [*(life.fact.day for life in self.signed[1:]), date.max]
        ends = zip(self.renewable_until, signed_next, strict=False)
        return [days_after(day, 1) for day, following in ends if day and day < following]

    def hold_days(self, version: VersionFact) -> list[date]:
        """Ascending, the days on which a sign-off of the version may go on hold or off it."""
        if version.number not in self._hold_days:
            known = [self.prerequisites[code] for code in version.policy.prerequisites if code in self.prerequisites]
            edges = {day for one in known for day in one.edges(version.policy.grace_days)}
            self._hold_days[version.number] = sorted(edges)
        return self._hold_days[version.number]

    def offered_on(self, day: date) -> int | None:
        """How many people other than the learner have authority; None when nothing bounds it."""
        index = bisect_right(self.offered, day, key=lambda step: step[0]) - 1
        return self.offered[index][1] if index >= 0 else None

    def renews_on(self, day: date, end: int) -> Life | None:
        """The sign-off that would be renewed on the day, whose facts end at position `end`."""
        index = bisect_left(self.signed_at, end) - 1
        if index < 0 or last_before(self.withdrawals, end) > self.signed_at[index]:
            return None
        until = self.renewable_until[index]
        return self.signed[index] if until is None or day <= until else None


def last_before(positions: Sequence[int], end: int) -> int:
    """The last of the positions before `end`, −1 when there is none."""
    index = bisect_left(positions, end) - 1
    return positions[index] if index >= 0 else -1
