"""Of whom a second factor is asked, and from when on. Common practice, no source: whoever keeps the accounts of others or puts
in force what others rely on; fourteen days to add one."""

from collections.abc import Iterable
from datetime import date, timedelta

DEMANDED = frozenset({"owner", "coordinator", "safety officer"})
GRACE = timedelta(days=14)


def last_day_without(began: Iterable[date], account_since: date) -> date | None:
    """The last day on which somebody signs in by password alone: fourteen days after the first of these posts began, or after
    the account was opened, where that was later. None for somebody without such a post."""
    first = min(began, default=None)
    return None if first is None else max(first, account_since) + GRACE
