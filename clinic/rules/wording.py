"""The sentences that say upkeep in plain words. They name the last good day, never a date to be guessed at."""

from collections.abc import Sequence
from datetime import date

from clinic.rules.spans import on
from clinic.rules.upkeep_facts import TaskRule, UpkeepSpan, UpkeepState
from clinic.rules.upkeep_shares import STOPPED
from clinic.rules.words import begun, counted, counted_many, day_words, every


def units_done(done: int, every: int, word: str = "parts") -> str:
    """23 of 20 parts: the counter of a task beside its limit."""
    return f"{done:,} of {counted_many(every, word)}"


def overdue_since(spans: Sequence[UpkeepSpan], today: date) -> date | None:
    """The first day of the unbroken overdue run that today lies in, across changes of cause; None when it is not."""
    since = None
    for span in spans:
        if span.first > today:
            break
        since = (since or span.first) if span.state is UpkeepState.OVERDUE else None
    here = on(spans, today)
    return since if here and here.state is UpkeepState.OVERDUE else None


def upkeep_sentence(spans: Sequence[UpkeepSpan], today: date, *, word: str = "parts", one: str = "part") -> str:
    """The state of today in one sentence. An overdue day counts itself: overdue since today is one day."""
    span = next((s for s in reversed(spans) if s.holds_on(today)), None)
    if span is None:
        return "Not in service."
    if span.state in STOPPED:
        return f"{begun(span.state.value)} since {day_words(span.first)}; the days do not count."
    since = overdue_since(spans, today)
    if since:
        return f"Overdue since {day_words(since)}, {counted((today - since).days + 1, 'day')}."
    return f"{begun(span.state.value)}{_through(span, word, one)}."


def _through(span: UpkeepSpan, word: str, one: str) -> str:
    through = f" through {day_words(span.last_good)}" if span.last_good else ""
    if span.units_left is None:
        return through or ", with no interval set"
    if span.units_left <= 0:
        return f"{through}: the {word} it may do are done"
    more = counted(span.units_left, f"more {one}", f"more {word}")
    return f"{through}, or after {more}" if through else f" until {more} {'is' if span.units_left == 1 else 'are'} made"


def rule_sentence(rule: TaskRule, word: str = "parts") -> str:
    """How often: every 7 days or 20 parts, whichever comes first."""
    days = every(rule.every_days, "days") if rule.every_days is not None else ""
    units = every(rule.every_units, word) if rule.every_units is not None else ""
    if days and units:
        return f"Every {days} or {units}, whichever comes first."
    return f"Every {days or units}." if days or units else "No interval set."
