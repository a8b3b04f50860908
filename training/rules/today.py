"""The first sentence of Today: what needs whoever looks, and in which order."""

from collections.abc import Sequence
from dataclasses import astuple, dataclass
from datetime import date, timedelta

from training.rules.facts import State
from training.rules.wording import day_words, listed, number_words

SOON = timedelta(days=60)  # what lapses within it is shown
START = timedelta(days=30)  # a learner who has not begun is shown from so many days before the due day


@dataclass(frozen=True, slots=True)
class Needs:
    """How many of each kind need the one who looks. `learn_late`: required of oneself and past its due day; `out`:
    readings out of limits without a good one since; `begin`: what a new practice has not done yet;
    `teach`: new hazards that somebody is still to be taught; `taught`:
    those that oneself is; `events`: filed and not looked into."""

    misses: int = 0
    overdue: int = 0
    sign: int = 0
    learn_late: int = 0
    out: int = 0
    teach: int = 0
    taught: int = 0
    events: int = 0
    begin: int = 0

    @property
    def total(self) -> int:
        return sum(astuple(self))

    @property
    def words(self) -> list[str]:
        counts = (
            (self.misses, "critical miss to answer", "critical misses to answer"),
            (self.out, "reading out of limits", "readings out of limits"),
            (self.overdue, "overdue upkeep task", "overdue upkeep tasks"),
            (self.sign, "sign-off to read", "sign-offs to read"),
            (self.learn_late, "procedure you should have learnt", "procedures you should have learnt"),
            (self.taught, "new hazard you are to be taught", "new hazards you are to be taught"),
            (self.teach, "new hazard to teach", "new hazards to teach"),
            (self.events, "event to look into", "events to look into"),
            (self.begin, "step to going live", "steps to going live"),
        )
        return [f"{number_words(n)} {one if n == 1 else many}" for n, one, many in counts if n]


def first_sentence(needs: Needs, next_to_learn: str = "", by: date | None = None) -> str:
    """Three things need you today: …; or what to learn next; or that nothing needs anybody."""
    if needs.total:
        verb = "thing needs" if needs.total == 1 else "things need"
        return f"{number_words(needs.total).capitalize()} {verb} you today: {listed(needs.words)}."
    if next_to_learn:
        return f"Learn next: {next_to_learn}{f', by {day_words(by)}' if by else ''}."
    return "Nothing needs you today."


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
class Watch:
    """Whom to watch, by which day at the latest, and why in a sentence."""

    who: Candidate
    by: date | None
    says: str


def whom_to_watch(candidates: Sequence[Candidate], today: date) -> list[Watch]:
    """Learners and renewals, the most urgent first: by the day on which it matters, then by name.

    Somebody whose evidence is enough waits for a signature, not for another look.
    """
    found = [watch for one in candidates if not one.enough and (watch := watch_of(one, today))]
    return sorted(found, key=lambda watch: (watch.by or date.max, watch.who.name, watch.who.procedure))


def watch_of(one: Candidate, today: date) -> Watch | None:
    if one.state is State.DUE:
        return Watch(
            one, one.ends_on, f"May work alone through {day_words(one.ends_on)}; renewal is due." if one.ends_on else ""
        )
    if one.state is State.LAPSED and one.due is not None:
        return Watch(one, one.since, f"Lapsed since {day_words(one.since)}." if one.since else "Lapsed.")
    if one.state is State.LEARNING:
        return Watch(one, one.due, f"Learning{due_words(one.due, today)}.")
    if one.state is State.UNTRAINED and one.due is not None and one.due - START <= today:
        return Watch(one, one.due, f"Nothing seen yet{due_words(one.due, today)}.")
    return None


def due_words(due: date | None, today: date) -> str:
    if due is None:
        return ""
    return f"; was due {day_words(due)}" if due < today else f"; due {day_words(due)}"
