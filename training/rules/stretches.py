"""Half-open stretches of days, met with one another. A stretch is (first, after); `after` None has no known end."""

from collections.abc import Iterable, Iterator
from datetime import date

from training.rules.coverage import Stretch


def both(ones: Iterable[Stretch], others: Iterable[Stretch]) -> Iterator[Stretch]:
    """Where a stretch of the one kind and a stretch of the other kind hold together."""
    rest = list(others)
    for one in ones:
        for other in rest:
            first = max(one[0], other[0])
            after = min(one[1] or date.max, other[1] or date.max)
            if first < after:
                yield first, None if after == date.max else after


def outside(stretches: Iterable[Stretch], first: date, after: date) -> Iterator[Stretch]:
    """The days from `first` up to, not including, `after` that no stretch holds."""
    for begin, end in sorted(stretches, key=lambda one: one[0]):
        if first < min(begin, after):
            yield first, min(begin, after)
        first = max(first, end or date.max)
    if first < after:
        yield first, after
