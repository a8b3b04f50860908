"""Which copies of the register are kept: the newest of each of so many days, weeks and months that have one.

Seven days, five weeks and twelve months: our own choice. A mistake is mostly noticed within days, a yearly audit looks
back a year, and about twenty copies fit on any disk. Weeks begin on Monday (ISO 8601).
"""

from collections.abc import Callable, Iterable
from datetime import date, datetime
from typing import Any

DAYS, WEEKS, MONTHS = 7, 5, 12
STATED = f"the newest of each of the last {DAYS} days, {WEEKS} weeks and {MONTHS} months that have one"

PERIODS: tuple[tuple[int, Callable[[date], Any]], ...] = (
    (DAYS, lambda day: day),
    (WEEKS, lambda day: day.isocalendar()[:2]),
    (MONTHS, lambda day: (day.year, day.month)),
)


def kept_of(made: Iterable[datetime]) -> set[datetime]:
    """Those of the copies, by the instant each was made, that stay. The newest always does."""
    newest_first = sorted(made, reverse=True)
    kept: set[datetime] = set()
    for most, period in PERIODS:
        newest_in: dict[Any, datetime] = {}
        for instant in newest_first:
            newest_in.setdefault(period(instant.date()), instant)
        kept |= set(list(newest_in.values())[:most])
    return kept
