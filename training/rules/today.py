"""Whom to watch, and who is shown how long before."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from clinic.rules.words import day_words
from training.rules.facts import State

SOON = timedelta(days=60)  # what lapses within it is shown
START = timedelta(days=30)  # a learner who has not begun is shown from so many days before the due day


@dataclass(frozen=True, slots=True)
class Candidate:
    """One person in one procedure, as somebody with authority for it may want to watch them. `due`: required by then."""

    person: str
    name: str
    procedure: str
    state: State
    ends_on: date | None = None
    since: date | None = None
    due: date | None = None
    enough: bool = False
    title: str = ""


@dataclass(frozen=True, slots=True)
class WatchBy:
    """Whom to watch, by which day at the latest, and why in a sentence."""

    who: Candidate
    by: date | None
    says: str


def whom_to_watch(candidates: Sequence[Candidate], today: date) -> list[WatchBy]:
    """Learners and renewals, the most urgent first: by the day on which it matters, then by name.

    Somebody whose evidence is enough waits for a signature, not for another look.
    """
    found = [watch for one in candidates if not one.enough and (watch := watch_of(one, today))]
    return sorted(found, key=lambda watch: (watch.by or date.max, watch.who.name, watch.who.procedure))


def watch_of(one: Candidate, today: date) -> WatchBy | None:
    if one.state is State.DUE:
        return WatchBy(
            one, one.ends_on, f"May work alone through {day_words(one.ends_on)}; renewal is due." if one.ends_on else ""
        )
    if one.state is State.LAPSED and one.due is not None:
        return WatchBy(one, one.since, f"Lapsed since {day_words(one.since)}." if one.since else "Lapsed.")
    if one.state is State.LEARNING:
        return WatchBy(one, one.due, f"Learning{due_words(one.due, today)}.")
    if one.state is State.UNTRAINED and one.due is not None and one.due - START <= today:
        return WatchBy(one, one.due, f"Nothing seen yet{due_words(one.due, today)}.")
    return None


def due_words(due: date | None, today: date) -> str:
    if due is None:
        return ""
    return f"; was due {day_words(due)}" if due < today else f"; due {day_words(due)}"
