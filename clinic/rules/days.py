"""Calendar sums that an inspector must be able to redo by hand.

"N days after d" means that d + N is the last good day. Months are calendar months, clamped to the month's end.
"""

from calendar import monthrange
from datetime import date


def plus_months(day: date, months: int) -> date:
    """The same day of the month `months` later, clamped to that month's end (31 Jan + 1 month = 28 or 29 Feb)."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    is_in_every_month = day.day <= 28
    return date(year, month + 1, day.day if is_in_every_month else min(day.day, monthrange(year, month + 1)[1]))


def months_between(earlier: date, later: date) -> int:
    """Whole calendar months from the month of `earlier` to the month of `later`; the days do not count."""
    return (later.year - earlier.year) * 12 + later.month - earlier.month


def written_later(done: date, written: date) -> date | None:
    """The day something was written down, where that is later than the day it was done; None where it is not."""
    return written if written > done else None
