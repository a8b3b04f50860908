"""What a closure silences: overdue days that fall away, and due days that move."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from clinic.rules.upkeep_facts import DAY, UpkeepSpan
from clinic.rules.upkeep_shares import days_overdue
from clinic.rules.words import counted, day_words

LONG = timedelta(days=30)
"""A closure of more days than this asks its reason (own choice)."""


def asks_reason(first: date, after: date, today: date) -> bool:
    """Whether the closure is long, or reaches back over days that were already judged."""
    return first < today or after - first > LONG


@dataclass(frozen=True, slots=True)
class Compared:
    """A task on a unit, as it stands without the closure and with it."""

    label: str
    without: Sequence[UpkeepSpan]
    closed: Sequence[UpkeepSpan]


def silenced(tasks: Sequence[Compared], today: date) -> list[str]:
    """A sentence for each task of which overdue days up to today fall away, or the last good day moves."""
    return [says for task in tasks if (says := _says(task, today))]


def _says(task: Compared, today: date) -> str:
    gone = days_overdue(task.without, date.min, today + DAY) - days_overdue(task.closed, date.min, today + DAY)
    before, then = _last_good(task.without, today), _last_good(task.closed, today)
    parts = [f"{counted(gone, 'overdue day')} would be gone"] if gone > 0 else []
    if before and then and before != then:
        parts.append(f"good through {day_words(then)} instead of {day_words(before)}")
    return f"{task.label}: {'; '.join(parts)}." if parts else ""


def _last_good(spans: Sequence[UpkeepSpan], today: date) -> date | None:
    return next((span.last_good for span in spans if span.holds_on(today)), None)
