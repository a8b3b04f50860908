"""The one place that asks what time it is. Rules never do: they take the day as an argument.

A replay (the demo practice, a restore drill) sets the clock for a stretch of code, so that the same actions that people
use write the same facts with the same instants on every run.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from django.utils import timezone

_set_to: ContextVar[datetime | None] = ContextVar("clock", default=None)


def now() -> datetime:
    """This instant, aware, in UTC, to the microsecond."""
    return _set_to.get() or timezone.now()


def today(zone: str) -> date:
    """The day it is now in a time zone such as "Europe/London"."""
    return now().astimezone(ZoneInfo(zone)).date()


def time_of_day(zone: str) -> time:
    """The time on a clock in that zone, to the second."""
    return now().astimezone(ZoneInfo(zone)).time().replace(microsecond=0)


@contextmanager
def standing_at(instant: datetime) -> Iterator[None]:
    """Inside the block it is `instant`."""
    token = _set_to.set(instant)
    try:
        yield
    finally:
        _set_to.reset(token)
