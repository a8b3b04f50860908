"""Was somebody allowed to do the upkeep they did? Asked afterwards; it never blocks the record of the work."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum


class EntryStanding(StrEnum):
    HELD = "held"
    STOOD_BY = "stood by"
    NOBODY_USABLE = "nobody usable"


@dataclass(frozen=True, slots=True)
class Present:
    """Somebody at the work and whether that person was usable for the covering procedure at that time. `by_time`: the
    day as a whole says otherwise, because something was decided before or after the work."""

    name: str
    usable: bool
    by_time: bool = False

    @property
    def when(self) -> str:
        return "at that time" if self.by_time else "that day"


@dataclass(frozen=True, slots=True)
class EntryCover:
    standing: EntryStanding
    sentence: str


def entry_cover(doer: Present, standing_by: Sequence[Present] = (), *, procedure: str | None) -> EntryCover:
    """`procedure` is the covering procedure's title; None where none covers the task, which anybody may then do."""
    if procedure is None:
        return EntryCover(EntryStanding.HELD, f"{doer.name} did it. No procedure covers this task.")
    if doer.usable:
        return EntryCover(EntryStanding.HELD, f"{doer.name} held {procedure} {doer.when}.")
    lacking = f"{doer.name} did not hold {procedure} {doer.when}"
    helper = next((person for person in standing_by if person.usable), None)
    if helper:
        return EntryCover(EntryStanding.STOOD_BY, f"{lacking}; {helper.name}, who did, stood by.")
    return EntryCover(EntryStanding.NOBODY_USABLE, f"{lacking}, and {_who(standing_by)}.")


def _who(standing_by: Sequence[Present]) -> str:
    if not standing_by:
        return "nobody stood by"
    return f"{' and '.join(person.name for person in standing_by)}, standing by, did not either"
