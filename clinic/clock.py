"""The one place that asks what time it is. Rules never do: they take the day as an argument.

A replay (the demo practice, a restore drill) sets the clock for a stretch of code, so that the same actions that people
use write the same facts with the same instants on every run.
"""

import sys
import time as timers
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.utils import timezone

_set_to: ContextVar[datetime | None] = ContextVar("clock", default=None)
_replayed: ContextVar[bool] = ContextVar("clock replayed", default=False)


def now() -> datetime:
    """This instant, aware, in UTC, to the microsecond."""
    return _set_to.get() or timezone.now()


def today(zone: str) -> date:
    """The day it is now in a time zone such as "Europe/London"."""
    return now().astimezone(ZoneInfo(zone)).date()


def time_of_day(zone: str) -> time:
    """The time on a clock in that zone, to the second."""
    return now().astimezone(ZoneInfo(zone)).time().replace(microsecond=0)


def local(instant: datetime, zone: str) -> datetime:
    """That instant on a clock in the zone."""
    return instant.astimezone(ZoneInfo(zone))


@contextmanager
def standing_at(instant: datetime) -> Iterator[None]:
    """Inside the block it is `instant`."""
    token = _set_to.set(instant)
    try:
        yield
    finally:
        _set_to.reset(token)


@contextmanager
def replaying() -> Iterator[None]:
    """Inside the block the clock is set again and again, back and forth, by whoever plays a history that is over: those are
    no jumps of this computer's clock. The play says so in the record; nothing that people use comes by here."""
    token = _replayed.set(True)
    try:
        yield
    finally:
        _replayed.reset(token)


def is_replayed() -> bool:
    """Whether this instant is one of a history that is being played."""
    return _replayed.get() and _set_to.get() is not None


class ClockWatch:
    """Compares the clock with a timer that nobody sets. Started by whoever serves the register; unstarted it says nothing."""

    def __init__(self) -> None:
        self.started: tuple[datetime, float] | None = None

    def start(self) -> None:
        self.started = (datetime.now(UTC), steady())

    def ran_ahead(self) -> timedelta:
        """By how much the clock moved further than the time did since it was asked last."""
        if self.started is None or _set_to.get() is not None:
            return timedelta(0)
        (wall, timer), self.started = self.started, (datetime.now(UTC), steady())
        ahead = self.started[0] - wall - timedelta(seconds=self.started[1] - timer)
        if timedelta(0) < ahead < timedelta(minutes=1):
            self.started = (wall, timer)  # small steps add up until they are worth saying
        return ahead


def steady() -> float:
    """Seconds on a timer that goes on while the computer sleeps, where the system has one."""
    if hasattr(timers, "CLOCK_BOOTTIME"):
        return timers.clock_gettime(timers.CLOCK_BOOTTIME)
    return timers.monotonic() if sys.platform == "win32" else timers.time()


watch = ClockWatch()
ran_ahead = watch.ran_ahead
