"""What falls with an act of the practice that is not recorded yet: closed days, and a torque driver that fails its check."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from clinic.rules.words import counted, day_words, listed


@dataclass(frozen=True, slots=True)
class FallsDue:
    """What no closed day moves (T-10), and the last day on which it is good."""

    label: str
    through: date


def closed_words(silenced: Sequence[str], stays: Sequence[FallsDue], people: Sequence[str]) -> list[str]:
    """What waits, what does not, and what ends of people meanwhile; empty where nothing changes."""
    found = [
        f"Only a pass moves {one.label}: it is good through {day_words(one.through)} all the same." for one in stays
    ]
    return [*people, *found, *silenced]


def failing_words(driver: str, seat: str, jobs: int, last_pass: date | None, others: Sequence[str]) -> list[str]:
    """What a reading outside takes with it. `others`: drivers of the same seat that may be used today."""
    since = f"since its last pass on {day_words(last_pass)}" if last_pass else "since it is here: it never passed"
    doubt = f"{counted(jobs, 'tool')} that it tightened {since}: each is looked at again." if jobs else ""
    left = f"{listed(others)} {'fits' if len(others) == 1 else 'fit'} {seat} too." if others else ""
    return [
        f"{driver} is out of service at once, until somebody returns it.",
        doubt or f"No tool that it tightened is in doubt {since}.",
        left or f"Then no driver here may be used for {seat}, and no tool that needs one is changed.",
    ]
