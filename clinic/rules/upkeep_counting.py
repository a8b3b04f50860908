"""Counting days and units of use, so that either between two days is one look-up."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import accumulate

from clinic.rules.upkeep_facts import OPENING, Pause, Use


class Counting:
    """Days that count: those in no pause. Numbers them, so that N of them after a day is one look-up. The pauses are given in
    the order of their days, as `standing_facts` gives them."""

    def __init__(self, pauses: Iterable[Pause]) -> None:
        self.firsts: list[int] = []
        self.afters: list[int] = []
        for pause in pauses:
            first, after = pause.day.toordinal(), (pause.after or date.max).toordinal()
            if self.afters and first <= self.afters[-1]:
                self.afters[-1] = max(self.afters[-1], after)
            elif first < after:
                self.firsts.append(first)
                self.afters.append(after)
        lengths = (after - first for first, after in zip(self.firsts, self.afters, strict=True))
        self.lost = list(accumulate(lengths, initial=0))
        self.keys = [first - lost for first, lost in zip(self.firsts, self.lost, strict=False)]

    def number(self, day: date) -> int:
        """How many counting days there were up to and including the day, from a fixed origin."""
        ordinal = day.toordinal()
        index = bisect_right(self.firsts, ordinal)
        overhang = max(0, self.afters[index - 1] - ordinal - 1) if index else 0
        return ordinal - self.lost[index] + overhang

    def later(self, day: date, days: int) -> date | None:
        """The counting day that many after the day (the day itself for none); None where there is none."""
        if days == 0:
            return day
        number = self.number(day) + days
        ordinal = number + self.lost[bisect_right(self.keys, number)]
        return date.fromordinal(ordinal) if ordinal < date.max.toordinal() else None


class Uses:
    """Uses in order, with running sums, so that the use between two days is one look-up."""

    def __init__(self, uses: Sequence[Use]) -> None:
        self.uses = uses
        self.days = [use.day for use in uses]
        self.sums = list(accumulate((use.units for use in uses), initial=0))

    def through(self, day: date) -> int:
        return self.sums[bisect_right(self.days, day)]

    def reaching(self, total: int) -> Use | None:
        """The use with which the running sum first reaches the total."""
        index = bisect_left(self.sums, total)
        return self.uses[index - 1] if 0 < index < len(self.sums) else None


@dataclass(frozen=True, slots=True)
class BetweenEntries:
    """From one time it was done to the next: who caused it, and the running sum of use that it starts from."""

    day: date
    cause: str
    base: int
    until: date | None

    def mark(self, uses: Uses, units: int | None) -> tuple[date, str] | None:
        """The day on which, and the fact with which, use in this stretch reaches so many units."""
        if units is None:
            return None
        if self.cause == OPENING and units <= -self.base:
            return self.day, self.cause
        use = uses.reaching(self.base + units)
        return (use.day, use.id) if use and (self.until is None or use.day <= self.until) else None
