"""The sentences of the week plan."""

from collections.abc import Sequence

from clinic.rules.words import several
from training.rules.week import UnsavedWhy

WHYS = {
    UnsavedWhy.NOBODY: "Nobody with authority for it is at work together with them by then. Move a day, or grant authority.",
    UnsavedWhy.TOO_MUCH: "It needs more days or people than are left by then. Ask an outside witness, or move a day.",
    UnsavedWhy.OTHERS_FIRST: "The days of those who could watch are taken by others whose sign-offs end sooner.",
}


def unsaved_sentence(why: UnsavedWhy, blocked: Sequence[str] = ()) -> str:
    """Why a sign-off could not be saved this week, and what would help."""
    return f"No watching saves it: {' '.join(blocked)}" if why is UnsavedWhy.BLOCKED else WHYS[why]


def watches_sentence(watches: int, apart: int, others: int) -> str:
    """What is asked: two assessments, on two different days, by one person who has not watched yet."""
    asked = [f"{several(watches, 'met assessment', 'met assessments')} needed"]
    asked += [f"on {several(apart, 'day', 'different days')}"] if apart > 1 else []
    asked += [f"by {several(others, 'person', 'people')} who did not watch yet"] if others else []
    return ", ".join(asked)


def resting_sentence(resting: int) -> str:
    """How many sign-offs go on hold with it; empty where none does."""
    return f"; {several(resting, 'other sign-off rests', 'other sign-offs rest')} on it" if resting else ""
