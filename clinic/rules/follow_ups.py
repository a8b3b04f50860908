"""When a reading out of limits is good again: computed from the readings that stand, never recorded by itself.

So taking back the good reading opens its follow-up again, unless a later good one stands; and taking back the bad one
takes its follow-up with it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True, slots=True)
class Out:
    """A reading out of limits of a task at a unit: when it was known, and when recorded."""

    id: str
    place: tuple[object, object]
    reading: str
    known_on: date
    recorded_at: datetime


@dataclass(frozen=True, slots=True)
class Good:
    """Readings within limits of a task at a unit: the day of the sample, the day they were known, and when recorded."""

    place: tuple[object, object]
    readings: frozenset[str]
    sampled_on: date
    known_on: date
    recorded_at: datetime

    def answers(self, out: Out) -> bool:
        """Sampled on a later day than the bad one was known; or on that day, and recorded after it."""
        after = self.sampled_on > out.known_on or (
            self.sampled_on == out.known_on and self.recorded_at > out.recorded_at
        )
        return after and self.place == out.place and out.reading in self.readings


def closed_on(out: Out, goods: Iterable[Good]) -> date | None:
    """The first day on which it was known to be good again; None while it is open."""
    return min((good.known_on for good in goods if good.answers(out)), default=None)
