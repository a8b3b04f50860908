"""What an inspector would object to about copies of the register: none lately, none restored on trial, one that failed."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from clinic.rules.findings import Finding, Weight, finding_key
from clinic.rules.wording import plain_day

LATE_AFTER = {"backup": 7, "restore drill": 92}
"""Days after which the next one is late. Common practice, no source: a week's work is the most that may be lost, and a
copy that nobody restored for a quarter of a year is a hope."""
ENDS = {
    "backup": "A backup that is recorded ends it.",
    "restore drill": "A restore drill whose seals are all whole ends it.",
}


@dataclass(frozen=True, slots=True)
class Kept:
    """The last backup or restore drill of a site."""

    id: str
    day: date
    good: bool


def safeguards_late(last: Mapping[str, Kept], start: date, today: date) -> list[Finding]:
    """One finding for each kind of safeguard that failed or is late. `last` by kind; `start`: the register start day."""
    found = (safeguard_finding(kind, days, last.get(kind), start, today) for kind, days in LATE_AFTER.items())
    return [one for one in found if one]


def safeguard_finding(kind: str, days: int, last: Kept | None, start: date, today: date) -> Finding | None:
    if last and not last.good:
        key, says = finding_key(f"{kind} failed", last.day), f"The {kind} of {plain_day(last.day)} failed."
        return Finding(key, Weight.FIX, f"{kind} failed", "the record", (last.id,), last.day, says, ENDS[kind])
    since = (last.day if last else start) + timedelta(days=days + 1)
    if since > today:
        return None
    says = f"The last {kind} was on {plain_day(last.day)}." if last else f"No {kind} was ever recorded."
    evidence = (last.id,) if last else ()
    return Finding(
        finding_key(f"{kind} late", since), Weight.FIX, f"{kind} late", "the record", evidence, since, says, ENDS[kind]
    )
