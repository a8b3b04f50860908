"""Counting the facts of one sort in a stretch that only moves on, so that a whole timeline costs each fact twice at most."""

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TypeVar

from training.rules.facts import Fact, Method, Observed

K = TypeVar("K")


@dataclass(slots=True)
class Tally:
    """What the assessments of a stretch tell apart, each with how many of them there are."""

    days: Counter[date] = field(default_factory=Counter)
    observers: Counter[str] = field(default_factory=Counter)
    methods: Counter[Method] = field(default_factory=Counter)
    shown: Counter[str] = field(default_factory=Counter)

    def add(self, fact: Fact, sign: int) -> None:
        if isinstance(fact, Observed):
            count(self.days, (fact.day,), sign)
            count(self.observers, (fact.observer,), sign)
            count(self.methods, (fact.method,), sign)
            count(self.shown, fact.shown, sign)


@dataclass(slots=True)
class Window:
    """The facts of one sort between two positions among all facts. `positions`: where those of the sort stand, ascending.

    How many there are is found from the two ends alone. What they tell apart is tallied only when it is asked for: each
    then enters the tally once and leaves it once.
    """

    facts: Sequence[Fact]
    positions: Sequence[int]
    stretch: tuple[int, int] = (0, 0)  # half-open, of positions
    low: int = 0  # the same in `positions`
    high: int = 0
    _tally: Tally | None = None
    _tallied: tuple[int, int] = (0, 0)

    def move(self, low: int, high: int) -> None:
        """On to the positions [low, high); neither end ever moves back."""
        self.stretch = low, high
        self.low = bisect_left(self.positions, low, self.low)
        self.high = bisect_left(self.positions, high, self.high)

    @property
    def count(self) -> int:
        return self.high - self.low

    @property
    def tally(self) -> Tally:
        if self._tally is None:
            self._tally, self._tallied = Tally(), (self.low, self.low)
        low, high = self._tallied
        for fact in self.between(max(high, self.low), self.high):
            self._tally.add(fact, 1)
        for fact in self.between(low, min(high, self.low)):
            self._tally.add(fact, -1)
        self._tallied = self.low, self.high
        return self._tally

    def between(self, low: int, high: int) -> Iterator[Fact]:
        return (self.facts[position] for position in self.positions[low:high])

    def places(self) -> Sequence[int]:
        return self.positions[self.low : self.high]


def count(counter: Counter[K], keys: Iterable[K], sign: int) -> None:
    for key in keys:
        counter[key] += sign
        if not counter[key]:
            del counter[key]
