"""What may be purged, and from when: the handbook's retention table, line by line.

A period is the least that a record must be kept. What is purged must be nothing that an answer rests on: standings of past
days, and so whether work was done by somebody usable, are worked out from observations, sessions and the upkeep log as long
as the register is kept. Those lines are shown with the reason, and not offered.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from clinic.rules.retention import (
    UPKEEP_YEARS,
    bbp_training_keep_through,
    competency_keep_through,
    exposure_keep_through,
    purge_offered_from,
    sharps_log_keep_through,
    upkeep_keep_through,
)

RESTS = "Not offered: standings and findings of past days are worked out from it."


@dataclass(frozen=True, slots=True)
class RetentionLine:
    """A line of the table. `through`: from the day named by `counted_from` to the last day on which the record must be there;
    None where no period is known. `why_not`: why it is never offered all the same; empty where it is."""

    what: str
    says: str
    rule: str
    through: Callable[[date], date] | None = None
    counted_from: str = "day"
    why_not: str = RESTS


INJURIES, PHOTOS, SESSIONS, COMPETENCY, UPKEEP, CHEMICALS = (
    "injuries", "photos", "sessions", "competency", "upkeep", "chemicals",
)  # fmt: skip
TABLE = (
    RetentionLine(
        INJURIES, "sharps and other injuries with their reviews",
        "five years after the end of the calendar year (29 CFR 1904.33(a))", sharps_log_keep_through, why_not="",
    ),
    RetentionLine(
        PHOTOS, "photos of upkeep",
        f"{UPKEEP_YEARS} years from the day, as the upkeep log (own choice; state boards vary)", upkeep_keep_through,
        why_not="",
    ),
    RetentionLine(
        SESSIONS, "taught sessions", "three years from the day (29 CFR 1910.1030(h)(2)(ii))", bbp_training_keep_through,
    ),
    RetentionLine(
        COMPETENCY, "observations, sign-offs and certificates", "employment and three years (own choice, which covers what is asked of taught sessions)",
        competency_keep_through, "last day worked",
    ),
    RetentionLine(
        UPKEEP, "upkeep log, water results and spore tests",
        f"{UPKEEP_YEARS} years from the day (own choice; state boards vary)", upkeep_keep_through,
    ),
    RetentionLine(
        CHEMICALS, "list of chemicals", "thirty years from the last use (29 CFR 1910.1020(d)(1)(ii)(B))",
        exposure_keep_through, "last day here",
        why_not="Not offered: whether a hazard was new to the practice is worked out from it.",
    ),
    RetentionLine(
        "near misses", "near misses and events without injury", "no period is known",
        why_not="Not offered: a record without a period is not purged.",
    ),
)  # fmt: skip


def line_of(what: str) -> RetentionLine:
    """ValueError, naming those there are, where the table has no such line."""
    found = {line.what: line for line in TABLE}
    if what not in found:
        raise ValueError(f"There is no line {what!r}. There are {', '.join(found)}.")
    return found[what]


def offered_from(line: RetentionLine, day: date, years: int = 0) -> date | None:
    """The first day on which a record of that day may be purged; None where it never is. `years`: a longer period that a state
    or the practice asks; whichever is longer wins."""
    if line.through is None or line.why_not:
        return None
    periods = [line.through(day), *([upkeep_keep_through(day, years)] if years else [])]
    return purge_offered_from(periods)


def is_over(line: RetentionLine, days: Iterable[date], today: date, years: int = 0) -> bool:
    """Whether the period of a record and of all that goes with it is over."""
    starts = [offered_from(line, day, years) for day in days]
    return all(start is not None and start <= today for start in starts)


def last_kept(line: RetentionLine, days: Iterable[date], years: int = 0) -> date:
    """The last day on which the last of them had to be there. ValueError for a line that is never offered."""
    starts = [start for day in days if (start := offered_from(line, day, years))]
    if not starts:
        raise ValueError(f"{line.says} are not purged.")
    return max(starts) - timedelta(days=1)
