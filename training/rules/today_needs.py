"""What competes for the first sentence, worst first: one ranking, for Today, the owner and whoever answers for several sites."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from clinic.rules.words import begun, day_words, listed, number_words


class NeedKind(StrEnum):
    """The kinds of need, in order of rank: what stops the work or hurts, then what waits, then the rest."""

    STOPPED = "stopped"
    OUT = "out"
    UNCOVERED = "uncovered"
    APPROVAL = "approval"
    UNSENT = "unsent"
    MISS = "miss"
    CONFIRM = "confirm"
    OVERDUE = "overdue"
    SIGN = "sign"
    LEARN = "learn"
    TAUGHT = "taught"
    TEACH = "teach"
    EVENTS = "events"
    BEGIN = "begin"


WORDS: dict[NeedKind, tuple[str, str]] = {
    NeedKind.STOPPED: ("unit out of service", "units out of service"),
    NeedKind.OUT: ("reading out of limits", "readings out of limits"),
    NeedKind.UNCOVERED: ("duty without anybody", "duties without anybody"),
    NeedKind.APPROVAL: ("version to approve", "versions to approve"),
    NeedKind.UNSENT: ("observation not sent", "observations not sent"),
    NeedKind.MISS: ("critical miss to answer", "critical misses to answer"),
    NeedKind.CONFIRM: ("sheet of paper to confirm", "sheets of paper to confirm"),
    NeedKind.OVERDUE: ("overdue upkeep task", "overdue upkeep tasks"),
    NeedKind.SIGN: ("sign-off to read", "sign-offs to read"),
    NeedKind.LEARN: ("procedure you should have learnt", "procedures you should have learnt"),
    NeedKind.TAUGHT: ("new hazard you are to be taught", "new hazards you are to be taught"),
    NeedKind.TEACH: ("new hazard to teach", "new hazards to teach"),
    NeedKind.EVENTS: ("log of events to look into", "logs of events to look into"),
    NeedKind.BEGIN: ("list of what is missing before going live", "lists of what is missing before going live"),
}
URGENT = frozenset({NeedKind.STOPPED, NeedKind.OUT, NeedKind.UNCOVERED, NeedKind.MISS, NeedKind.OVERDUE})


@dataclass(frozen=True, slots=True)
class Needs:
    """The kinds of the rows shown, each as often as a row of it is shown."""

    kinds: tuple[NeedKind, ...]

    @property
    def total(self) -> int:
        return len(self.kinds)

    @property
    def ranked(self) -> list[tuple[NeedKind, int]]:
        return [(kind, self.kinds.count(kind)) for kind in NeedKind if kind in self.kinds]

    @property
    def is_urgent(self) -> bool:
        return not URGENT.isdisjoint(self.kinds)

    @property
    def counts(self) -> str:
        """What the numbers of the first sentence count, in their order: all together, then each kind."""
        return " ".join(["need", *(kind.value for kind, _ in self.ranked)])

    @property
    def words(self) -> list[str]:
        return [f"{number_words(n)} {WORDS[kind][n != 1]}" for kind, n in self.ranked]


def needs_of(rows: Iterable[tuple[NeedKind, Sequence[object]]]) -> Needs:
    return Needs(tuple(kind for kind, shown in rows for _ in shown))


def first_sentence(needs: Needs, next_to_learn: str = "", by: date | None = None) -> str:
    """Three things need you today: …; or what to learn next; or that nothing needs anybody."""
    if needs.total:
        verb = "thing needs" if needs.total == 1 else "things need"
        return f"{begun(number_words(needs.total))} {verb} you today: {listed(needs.words)}."
    if next_to_learn:
        return f"Learn next: {next_to_learn}{f', by {day_words(by)}' if by else ''}."
    return "Nothing needs you today."


def worst_sentence(needs: Needs) -> str:
    """The same for whoever answers for a place rather than has work there: two units out of service and one …"""
    said = listed(needs.words)
    return f"{begun(said)}." if said else ""
