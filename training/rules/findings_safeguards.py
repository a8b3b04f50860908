"""What an inspector would object to about copies of the register: none lately, none restored on trial, one that failed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from clinic.rules.findings import Finding, Weight, finding_key
from clinic.rules.words import day_words

LATE_AFTER = {"backup": 7, "restore drill": 92}
"""Days after which the next one is late. Common practice, no source: a week's work is the most that may be lost, and a
copy that nobody restored for a quarter of a year is a hope."""
ENDS = {
    "backup": "A backup that is recorded ends it.",
    "restore drill": "A restore drill whose seals are all whole ends it.",
}


@dataclass(frozen=True, slots=True)
class DrillDone:
    """A backup or restore drill of a site."""

    id: str
    day: date
    good: bool


def safeguards_late(kept: Mapping[str, Sequence[DrillDone]], start: date) -> list[Finding]:
    """Every stretch in which a kind of safeguard was late, or the last one had failed. `kept` by kind, in order, the last of
    a day counts; `start`: the register start day."""
    return [part for kind, days in LATE_AFTER.items() for part in of_kind(kind, days, kept.get(kind, ()), start)]


def of_kind(kind: str, days: int, kept: Sequence[DrillDone], start: date) -> list[Finding]:
    by_day = {one.day: one for one in kept}
    in_turn: list[DrillDone | None] = [None, *(by_day[day] for day in sorted(by_day))]
    ends = [*(one.day for one in in_turn if one), None]
    parts = [safeguard_finding(kind, days, one, end, start) for one, end in zip(in_turn, ends, strict=True)]
    return [part for part in parts if part and (part.after is None or part.first < part.after)]


def safeguard_finding(kind: str, days: int, last: DrillDone | None, end: date | None, start: date) -> Finding:
    """What is wrong after the last one (None: there was none yet) until the next."""
    if last and not last.good:
        key, says = finding_key(f"{kind} failed", last.day), f"The {kind} of {day_words(last.day)} failed."
        what = (Weight.FIX, f"{kind} failed", "the record", (last.id,), last.day, says, ENDS[kind], last.day, end)
        return Finding(key, *what)
    since = (last.day if last else start) + timedelta(days=days + 1)
    says = f"The last {kind} was on {day_words(last.day)}." if last else f"No {kind} was ever recorded."
    key, evidence = finding_key(f"{kind} late", since), (last.id,) if last else ()
    return Finding(key, Weight.FIX, f"{kind} late", "the record", evidence, since, says, ENDS[kind], since, end)
