"""Where a task's clock starts when the register takes a unit over: nobody is overdue on the first morning.

The clock starts on the later of the first day in service and the register's first day. Without an opening reading the
task counts as done on that day. With one, its last done day and its units hold as they are, with two exceptions:

- the days were over already: the start day is made the last good day, so that the task is due on it, overdue after it;
- the units were reached already: the task counts as done on the start day with all its units used, which says the same.

Own reading of "nobody is overdue on the first morning" (D).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from clinic.rules.upkeep_facts import EquipmentLife, TaskRule, Use
from clinic.rules.words import day_words


@dataclass(frozen=True, slots=True)
class Opening:
    """The last done day and the units since then, as read when the register started."""

    last_done: date
    units: int = 0


def opened_life(start: date, last: date | None, opening: Opening | None, rule: TaskRule) -> EquipmentLife:
    """The life of a task on a unit from the start day. `last` is the unit's last day in service, `rule` that of the start."""
    if opening is None:
        return EquipmentLife(start, last)
    if rule.every_units is not None and opening.units >= rule.every_units:
        return EquipmentLife(start, last, start, opening.units)
    done = opening.last_done
    if rule.every_days is not None:
        done = max(done, start - timedelta(days=rule.every_days))
    return EquipmentLife(start, last, done, opening.units)


def that_count(uses: Iterable[Use], life: EquipmentLife) -> list[Use]:
    """Those of days that count: the opening reading holds everything before its day."""
    first = life.first  # asked for once: a unit has thousands of uses
    return [use for use in uses if use.day >= first]


def before_sentence(opening: Opening | None, life: EquipmentLife) -> str:
    """The last done day as it was typed, and the day that the rule counts from where that is another; empty without one."""
    if opening is None or life.opening_last_done is None:
        return ""
    counted = (
        "" if life.opening_last_done == opening.last_done else f", counted from {day_words(life.opening_last_done)}"
    )
    return f"Before the register: {day_words(opening.last_done)}{counted}"
