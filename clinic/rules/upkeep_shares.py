"""What a timeline of upkeep adds up to: days overdue, the share in time, the next due day, the units since."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime

from clinic.rules.spans import Span
from clinic.rules.upkeep_facts import Entry, EquipmentLife, UpkeepState, Use, in_life, standing_facts

GOOD = frozenset({UpkeepState.IN_TIME, UpkeepState.DUE})
STOPPED = frozenset({UpkeepState.PAUSED, UpkeepState.OUT_OF_SERVICE})


def _days(spans: Sequence[Span[UpkeepState]], first: date, after: date, states: frozenset[UpkeepState]) -> int:
    ends = ((max(s.first, first), min(s.after or after, after)) for s in spans if s.state in states)
    return sum((end - start).days for start, end in ends if start < end)


def days_overdue(spans: Sequence[Span[UpkeepState]], first: date, after: date) -> int:
    """How many days of [first, after) were overdue."""
    return _days(spans, first, after, frozenset({UpkeepState.OVERDUE}))


def share_in_time(spans: Sequence[Span[UpkeepState]], first: date, after: date) -> float | None:
    """In time or due as a share of the days not paused, 0 to 1; None where no day of [first, after) counts."""
    good, bad = _days(spans, first, after, GOOD), days_overdue(spans, first, after)
    return good / (good + bad) if good + bad else None


def units_since(
    life: EquipmentLife,
    entries: Iterable[Entry],
    uses: Iterable[Use],
    day: date,
    *,
    known_by: datetime | None = None,
) -> int:
    """The task's unit counter at the end of the day: the use since it was last done."""
    done = [e.day for e in in_life(life, standing_facts(entries, known_by)) if e.day <= day]
    counted = [u for u in in_life(life, standing_facts(uses, known_by)) if life.counts_use_of(u.day)]
    since = done[-1] if done else None
    opening = 0 if since else life.opening_units
    return opening + sum(u.units for u in counted if u.day <= day and (since is None or u.day > since))
