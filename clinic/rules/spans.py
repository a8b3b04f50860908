"""Spans: half-open stretches of days, each with one state and the fact that caused it.

A timeline is a tuple of spans that touch and cover: each begins on the day the one before it ends, and the last may run
for ever. Every question about a past or a coming day is a look-up in one.
"""

from bisect import bisect_right
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Generic, TypeVar

S = TypeVar("S", bound=Hashable)


@dataclass(frozen=True, slots=True)
class Span(Generic[S]):
    """One state from `first` up to, not including, `after` (None: nothing known ends it)."""

    first: date
    after: date | None
    state: S
    cause: str | None = None

    def holds_on(self, day: date) -> bool:
        return self.first <= day and (self.after is None or day < self.after)


def on(spans: Sequence[Span[S]], day: date) -> Span[S] | None:
    """The span that holds on the day, or None before the first one. Logarithmic in the number of spans."""
    index = bisect_right(spans, day, key=lambda span: span.first) - 1
    return spans[index] if index >= 0 and spans[index].holds_on(day) else None


def merged(spans: Iterable[Span[S]]) -> tuple[Span[S], ...]:
    """Neighbours with equal state and cause become one; empty spans vanish."""
    out: list[Span[S]] = []
    for span in spans:
        if span.after is not None and span.after <= span.first:
            continue
        if out and out[-1].state == span.state and out[-1].cause == span.cause and out[-1].after == span.first:
            out[-1] = replace(out[-1], after=span.after)
        else:
            out.append(span)
    return tuple(out)


def days_in(spans: Sequence[Span[S]], first: date, after: date, wanted: Callable[[S], bool]) -> int:
    """How many days of [first, after) lie in spans whose state is wanted."""
    total = 0
    for span in spans:
        start, end = max(span.first, first), min(span.after or after, after)
        if start < end and wanted(span.state):
            total += (end - start).days
    return total
