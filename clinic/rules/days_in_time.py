"""On how many of its days an upkeep task was in time: of one task, of many, of a whole site."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from clinic.rules.spans import Span
from clinic.rules.upkeep_facts import UpkeepState
from clinic.rules.upkeep_shares import STOPPED, days_overdue
from clinic.rules.words import counted, day_words

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class DaysInTime:
    """Task days: in time or due, overdue, and stopped (paused or out of service; these count for neither)."""

    good: int = 0
    overdue: int = 0
    stopped: int = 0

    @property
    def counted(self) -> int:
        return self.good + self.overdue

    @property
    def share(self) -> float | None:
        """0 to 1; None where no day counts."""
        return self.good / self.counted if self.counted else None

    def __add__(self, other: "DaysInTime") -> "DaysInTime":
        return DaysInTime(self.good + other.good, self.overdue + other.overdue, self.stopped + other.stopped)


def days_in_time(spans: Sequence[Span[UpkeepState]], first: date, last: date) -> DaysInTime:
    """From the first day through the last, both included. Days without a span were before or after service."""
    after = last + DAY
    every = sum((end - start).days for start, end, _ in _inside(spans, first, after))
    stopped = sum((end - start).days for start, end, state in _inside(spans, first, after) if state in STOPPED)
    overdue = days_overdue(spans, first, after)
    return DaysInTime(every - stopped - overdue, overdue, stopped)


def _inside(spans: Iterable[Span[UpkeepState]], first: date, after: date) -> list[tuple[date, date, UpkeepState]]:
    ends = ((max(span.first, first), min(span.after or after, after), span.state) for span in spans)
    return [(start, end, state) for start, end, state in ends if start < end]


def together(parts: Iterable[DaysInTime]) -> DaysInTime:
    return sum(parts, DaysInTime())


def late_stretches(spans: Iterable[Span[UpkeepState]], first: date, last: date) -> list[tuple[date, date]]:
    """Unbroken overdue stretches in the days, each as (first day, last day), oldest first."""
    runs: list[tuple[date, date]] = []
    for start, end, state in _inside(spans, first, last + DAY):
        if state is not UpkeepState.OVERDUE:
            continue
        if runs and runs[-1][1] + DAY == start:
            runs[-1] = (runs[-1][0], end - DAY)
        else:
            runs.append((start, end - DAY))
    return runs


def share_words(days: DaysInTime) -> str:
    """358 of 365 days: figures, because 99 % of many days hides the few that were late."""
    if days.share is None:
        return "no day counts"
    return f"{days.good:,} of {counted(days.counted, 'day')}"


def stretch_words(run: tuple[date, date]) -> str:
    """From 3 March 2026 through 6 March 2026, 4 days."""
    first, last = run
    many = counted((last - first).days + 1, "day")
    return f"{day_words(first)}, 1 day" if first == last else f"{day_words(first)} through {day_words(last)}, {many}"
