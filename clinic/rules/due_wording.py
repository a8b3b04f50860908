"""The first sentence of the upkeep pages."""

from collections.abc import Sequence
from datetime import date

from clinic.rules.upkeep_facts import TaskRule, UpkeepState
from clinic.rules.wording import counted, plain_day, units_done

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


def due_sentence(states: Sequence[UpkeepState | None], since: date | None) -> str:
    """How many tasks are due and overdue, and since when the oldest is. `since`: the earliest overdue day."""
    due, over = states.count(UpkeepState.DUE), states.count(UpkeepState.OVERDUE)
    late = f"{'is' if over == 1 else 'are'} overdue{f' since {plain_day(since)}' if since else ''}."
    if due:
        first = f"{counted(due, 'thing')} {'is' if due == 1 else 'are'} due"
        return f"{first}, {over} {late}" if over else f"{first}, nothing is overdue."
    if over:
        return f"{counted(over, 'thing')} {late}"
    return "Nothing is due. Everything is in time." if states else "No unit is entered yet."


def counter_sentence(rule: TaskRule, units: int, word: str) -> str:
    """23 of 20 parts; nothing where use does not count."""
    return units_done(units, rule.every_units, word) if rule.every_units is not None else ""


def one_of(word: str) -> str:
    """parts → part."""
    return word.removesuffix("s")
