"""Which findings are open, and which a corrective action has closed.

An action closes one appearance: the same key with the same first day. What comes back has another first day, or another
key, and is open again. Only notes are closed by words alone; what must stop, or be fixed, is ended by what it names, and an
action about it is shown beside it.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from clinic.rules.findings import Finding, Weight

ORDER = (Weight.STOP, Weight.FIX, Weight.NOTE)


@dataclass(frozen=True, slots=True)
class Action:
    """What was done about one appearance of a finding."""

    id: str
    finding: str
    since: date
    done: str
    by: str
    day: date


@dataclass(frozen=True, slots=True)
class Weighed:
    """A finding with what was done about it, newest last."""

    finding: Finding
    actions: tuple[Action, ...]

    @property
    def is_open(self) -> bool:
        return not (self.actions and self.finding.weight is Weight.NOTE)


def weighed(findings: Iterable[Finding], actions: Iterable[Action]) -> list[Weighed]:
    """The heaviest first, then the oldest."""
    by_appearance: dict[tuple[str, date], list[Action]] = {}
    for action in sorted(actions, key=lambda one: (one.day, one.id)):
        by_appearance.setdefault((action.finding, action.since), []).append(action)
    found = [Weighed(one, tuple(by_appearance.get((one.key, one.since), ()))) for one in findings]
    return sorted(found, key=lambda one: (ORDER.index(one.finding.weight), one.finding.since, one.finding.key))


def counts(found: Iterable[Weighed]) -> Mapping[str, int]:
    """How many of each weight are open."""
    rows = [one.finding.weight for one in found if one.is_open]
    return {weight.value: rows.count(weight) for weight in ORDER}
