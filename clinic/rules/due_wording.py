"""The first sentence of the upkeep pages."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from clinic.rules.upkeep_facts import TaskRule, UpkeepState
from clinic.rules.wording import units_done
from clinic.rules.words import counted, day_words

WORST_FIRST = (
    UpkeepState.OVERDUE,
    UpkeepState.DUE,
    UpkeepState.OUT_OF_SERVICE,
    UpkeepState.IN_TIME,
    UpkeepState.PAUSED,
)


def rank(state: UpkeepState | None) -> int:
    """The order of need; a task of a unit that is not in service comes last."""
    return WORST_FIRST.index(state) if state else len(WORST_FIRST)


@dataclass(frozen=True, slots=True)
class CountedHead:
    """A first sentence, and what its numbers count in the rows below it, in their order."""

    says: str
    names: tuple[str, ...]

    @property
    def counts(self) -> str:
        """For a page: the names with spaces between."""
        return " ".join(self.names)


@dataclass(frozen=True, slots=True)
class Care:
    """The rows of an upkeep page. `states`: of every task shown; `done`: how many of them were ever done, before the
    register or since; `since`: the earliest overdue day; `stopped`: units out of service; `out`: readings out of limits."""

    states: Sequence[UpkeepState | None]
    done: int
    since: date | None = None
    stopped: int = 0
    out: int = 0


def due_head(care: Care) -> CountedHead:
    """What stands in the way, the worst first; that all is in time only where something is, and was done."""
    due, over = care.states.count(UpkeepState.DUE), care.states.count(UpkeepState.OVERDUE)
    since = f" since {day_words(care.since)}" if care.since else ""
    parts = (
        ("stopped", care.stopped, f"{counted(care.stopped, 'unit')} out of service"),
        ("out", care.out, f"{counted(care.out, 'reading')} out of limits"),
        ("overdue", over, f"{counted(over, 'task')} overdue{since}"),
        ("due", due, f"{counted(due, 'task')} due"),
    )
    there = [(name, words) for name, number, words in parts if number]
    if there:
        return CountedHead(f"{', '.join(words for _, words in there)}.", tuple(name for name, _ in there))
    return CountedHead(quiet_sentence(care), tuple(name for name, *_ in parts))


def quiet_sentence(care: Care) -> str:
    """Where nothing is due, overdue, out of limits or stopped."""
    if not care.states:
        return "No unit is entered yet."
    if UpkeepState.IN_TIME not in care.states:
        return "Nothing is due: no task runs, because everything is paused or out of service."
    return "Nothing is due. Everything is in time." if care.done else "Nothing is due yet. Nothing was done yet."


def counter_sentence(rule: TaskRule, units: int, word: str) -> str:
    """23 of 20 parts; nothing where use does not count."""
    return units_done(units, rule.every_units, word) if rule.every_units is not None else ""


def one_of(word: str) -> str:
    """parts → part."""
    return word.removesuffix("s")
