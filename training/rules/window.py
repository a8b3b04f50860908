"""Counting the facts of one sort in a stretch that only moves on, so that a whole timeline costs each fact twice."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TypeVar

from training.rules.facts import Fact, Method, Observed

K = TypeVar("K")


@dataclass
class Window:
    """The facts of one sort between two positions, counted as the window moves on. Each enters and leaves once."""

    facts: Sequence[Fact]
    wanted: Callable[[Fact], bool]
    low: int = 0
    high: int = 0
    count: int = 0
    days: Counter[date] = field(default_factory=Counter)
    observers: Counter[str] = field(default_factory=Counter)
    methods: Counter[Method] = field(default_factory=Counter)
    shown: Counter[str] = field(default_factory=Counter)

    def move(self, low: int, high: int) -> None:
        """On to [low, high); neither end ever moves back."""
        for position in range(max(self.high, low), high):
            self.add(self.facts[position], 1)
        for position in range(self.low, min(low, self.high)):
            self.add(self.facts[position], -1)
        self.low, self.high = low, max(high, low)

    def add(self, fact: Fact, sign: int) -> None:
        if not self.wanted(fact):
            return
        self.count += sign
        if isinstance(fact, Observed):
            tally(self.days, (fact.day,), sign)
            tally(self.observers, (fact.observer,), sign)
            tally(self.methods, (fact.method,), sign)
            tally(self.shown, fact.shown, sign)

    def ids(self) -> tuple[str, ...]:
        return tuple(fact.id for fact in self.facts[self.low : self.high] if self.wanted(fact))


def tally(counter: Counter[K], keys: Iterable[K], sign: int) -> None:
    for key in keys:
        counter[key] += sign
        if not counter[key]:
            del counter[key]
