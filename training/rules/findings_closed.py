"""Which findings are open, and which a corrective action has closed.

An action closes one appearance: the same key with the same first day. What comes back has another first day, or another
key, and is open again. Only notes are closed by words alone; what must stop, or be fixed, is ended by what it names, and an
action about it is shown beside it.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from clinic.rules.findings import DAY, Finding, Weight, on_day

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


def counts(found: "Iterable[Weighed | Occurrence]") -> Mapping[str, int]:
    """How many of each weight are open."""
    rows = [one.finding.weight for one in found if one.is_open]
    return {weight.value: rows.count(weight) for weight in ORDER}


def weighed_on(day: date, findings: Iterable[Finding], actions: Iterable[Action]) -> list[Weighed]:
    """What lasts on the day, with what was done by then."""
    return weighed(on_day(findings, day), [one for one in actions if one.day <= day])


@dataclass(frozen=True, slots=True)
class Occurrence:
    """One finding of a period, as it stood at the period's end: its first day and its last, and what was done about it.

    `last` is None while it still has to stop, or to be fixed. What can only be explained is past: it ended before, and a
    single day's is of that day.
    """

    finding: Finding
    first: date
    last: date | None
    actions: tuple[Action, ...]

    @property
    def is_open(self) -> bool:
        """It lasts, or waits for an explanation."""
        return self.last is None or (self.finding.weight is Weight.NOTE and not self.actions)


def occurrences(findings: Iterable[Finding], actions: Iterable[Action], first: date, last: date) -> list[Occurrence]:
    """Every finding that stood on some day from `first` through `last`, the heaviest first, then the oldest. What can only
    be explained stands until it is, the day on which it came and that of the explanation included."""
    by_key: dict[str, list[Finding]] = {}
    for one in sorted(findings, key=lambda one: one.first):
        if one.first <= last:
            by_key.setdefault(one.key, []).append(one)
    done: dict[tuple[str, date], list[Action]] = {}
    for action in sorted(actions, key=lambda one: (one.day, one.id)):
        if action.day <= last:
            done.setdefault((action.finding, action.since), []).append(action)
    found = [occurrence(parts, done.get((parts[0].key, parts[0].since), []), last) for parts in by_key.values()]
    stood = [one for one, parts in zip(found, by_key.values(), strict=True) if stands_from(one, parts, first)]
    return sorted(stood, key=lambda one: (ORDER.index(one.finding.weight), one.first, one.finding.key))


def occurrence(parts: Sequence[Finding], actions: Sequence[Action], last: date) -> Occurrence:
    now = parts[-1]
    said = now.on(min(last, now.after - DAY) if now.after else last)
    return Occurrence(said, now.since, last_day(parts, last), tuple(actions))


def last_day(parts: Sequence[Finding], until: date) -> date | None:
    """The last day of the trouble itself, as known at the end of the period."""
    *earlier, now = parts
    if now.weight is Weight.NOTE:
        troubled = [one for one in earlier if one.weight is not Weight.NOTE]
        return troubled[-1].after - DAY if troubled and troubled[-1].after else now.since
    return now.after - DAY if now.after and now.after <= until else None


def stands_from(one: Occurrence, parts: Sequence[Finding], first: date) -> bool:
    """Whether it stood on `first` or came later."""
    now = parts[-1]
    explained = now.weight is Weight.NOTE and one.actions and max(one.actions[0].day, now.first) < first
    return not explained and (now.after is None or first < now.after)
