"""What an inspector would object to about equipment, from plain data. Each finding names its evidence and what ends it.

A finding is a timeline, like a standing: the rules give every stretch of days that it lasts, days to come included, as if
nothing more were recorded. So no day has to be asked one by one, and a past day or a period is a look-up.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum
from itertools import pairwise
from typing import TypeVar

from clinic.rules.cover import EntryCover, EntryStanding
from clinic.rules.upkeep_facts import UpkeepSpan, UpkeepState
from clinic.rules.words import counted, day_words

DAY = timedelta(days=1)
DAYS = "{days}"
"""Stands in a sentence where the days since `counted_from` are said, which every day says anew."""


class Weight(StrEnum):
    STOP = "stop"
    FIX = "fix"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Finding:
    """One stretch of a finding: from `first` up to, not including, `after` (None: nothing known ends it) it says the same.

    `key` is the same in every stretch of one occurrence, so that a corrective action can close it; what comes back has
    another key and is open again. `since`: the first day of the occurrence. `evidence` holds ids of facts, the cause among
    them. `ends_when`: what would end it.
    """

    key: str
    weight: Weight
    code: str
    about: str
    evidence: tuple[str, ...]
    since: date
    sentence: str
    ends_when: str
    first: date
    after: date | None = None
    counted_from: date | None = None

    def holds_on(self, day: date) -> bool:
        return self.first <= day and (self.after is None or day < self.after)

    def on(self, day: date) -> "Finding":
        """The same, with its sentence as it is said on the day."""
        if self.counted_from is None:
            return self
        return replace(self, sentence=self.sentence.replace(DAYS, counted((day - self.counted_from).days, "day")))


def on_day(found: Iterable[Finding], day: date) -> list[Finding]:
    """Those that last on the day, as they are said on it."""
    return [one.on(day) for one in found if one.holds_on(day)]


def finding_key(code: str, *parts: str | date) -> str:
    """Code, what it is about and the day or fact it began with, with colons between."""
    return ":".join([code, *(part.isoformat() if isinstance(part, date) else part for part in parts)])


H = TypeVar("H", bound=Hashable)
Stretch = tuple[date, date | None, H]


def swept(edges: Iterable[date | None], says: Callable[[date], H | None]) -> list[Stretch[H]]:
    """Between edges nothing changes: what is said on the first day of each stretch, neighbours that say the same joined.
    Where None is said there is no stretch. The last has no end."""
    days = sorted({day for day in edges if day})
    found: list[Stretch[H]] = []
    for first, after in pairwise([*days, None]):
        said = says(first) if first else None
        if first is None or said is None:
            continue
        if found and found[-1][1] == first and found[-1][2] == said:
            found[-1] = (found[-1][0], after, said)
        else:
            found.append((first, after, said))
    return found


K = TypeVar("K", bound=str)
Days = tuple[date, date | None]
"""[first, after); no `after`: nothing known ends it."""


def together(days: Mapping[K, Iterable[Days]]) -> list[Stretch[tuple[K, ...]]]:
    """All whose stretches hold, in order of their keys, on every day on which any does. One pass over the days on which
    something changes, whatever their number."""
    changes: dict[date, list[tuple[K, int]]] = defaultdict(list)
    for key, stretches in days.items():
        for first, after in stretches:
            changes[first].append((key, 1))
            if after:
                changes[after].append((key, -1))
    holding: Counter[K] = Counter()

    def held(day: date) -> tuple[K, ...] | None:
        for key, number in changes[day]:
            holding[key] += number
        return tuple(sorted(key for key, number in holding.items() if number)) or None

    return swept(changes, held)


def runs(stretches: Iterable[Stretch[H]]) -> list[list[Stretch[H]]]:
    """Those that touch, together: one occurrence each."""
    found: list[list[Stretch[H]]] = []
    for one in stretches:
        if found and found[-1][-1][1] == one[0]:
            found[-1].append(one)
        else:
            found.append([one])
    return found


@dataclass(frozen=True, slots=True)
class TaskOnUnit:
    task: str
    unit: str
    title: str
    unit_id: str
    spans: tuple[UpkeepSpan, ...]


def overdue_upkeep(tasks: Iterable[TaskOnUnit]) -> list[Finding]:
    """Upkeep while it is overdue, to be fixed. It is one occurrence until a day that is not overdue."""
    return [part for task in tasks for run in overdue_runs(task.spans) for part in _overdue(task, run)]


def overdue_runs(spans: Iterable[UpkeepSpan]) -> list[list[UpkeepSpan]]:
    """Unbroken overdue stretches, whatever caused their parts."""
    late = [span for span in spans if span.state is UpkeepState.OVERDUE]
    joined: list[list[UpkeepSpan]] = []
    for span in late:
        if joined and joined[-1][-1].after == span.first:
            joined[-1].append(span)
        else:
            joined.append([span])
    return joined


def _overdue(task: TaskOnUnit, run: Sequence[UpkeepSpan]) -> list[Finding]:
    """A part for each cause that came to it."""
    about, since = f"{task.title}, {task.unit}", run[0].first

    def causes(day: date) -> tuple[str, ...]:
        return tuple(dict.fromkeys(span.cause for span in run if span.first <= day and span.cause))

    return [
        Finding(
            finding_key("upkeep overdue", task.task, task.unit_id, since),
            Weight.FIX,
            "upkeep overdue",
            about,
            evidence,
            since,
            f"{about}: overdue since {day_words(since)}, {DAYS}.",
            "An entry for this task ends it.",
            first,
            after or run[-1].after,
            since - DAY,
        )
        for first, after, evidence in swept([span.first for span in run], causes)
    ]


@dataclass(frozen=True, slots=True)
class EntryDone:
    id: str
    day: date
    about: str
    cover: EntryCover


def entries_without_cover(entries: Iterable[EntryDone]) -> list[Finding]:
    """Work by somebody not usable with nobody usable standing by. It is past, and can only be explained."""
    return [
        Finding(
            finding_key("not held", entry.id),
            Weight.NOTE,
            "not held",
            entry.about,
            (entry.id,),
            entry.day,
            f"{entry.about}, {day_words(entry.day)}: {entry.cover.sentence}",
            "A corrective action that says what was done about it closes it.",
            entry.day,
        )
        for entry in entries
        if entry.cover.standing is EntryStanding.NOBODY_USABLE
    ]


@dataclass(frozen=True, slots=True)
class FollowUpOpen:
    """`due_on`: the last good day for a good reading."""

    id: str
    entry_id: str
    about: str
    due_on: date
    closed_on: date | None = None


def late_follow_ups(follow_ups: Iterable[FollowUpOpen]) -> list[Finding]:
    """A reading out of limits without follow-up in time, from the day after its due day. One closed late stays as a note."""
    late = (one for one in follow_ups if one.closed_on is None or one.due_on < one.closed_on)
    return [part for one in late for part in _late(one)]


def _late(one: FollowUpOpen) -> list[Finding]:
    since, closed = one.due_on + DAY, one.closed_on
    says = f"{one.about}: out of limits, follow-up due {day_words(one.due_on)}"

    def part(weight: Weight, until: str, ends: str, first: date, after: date | None = None) -> Finding:
        key, evidence = finding_key("follow-up late", one.id), (one.entry_id, one.id)
        return Finding(
            key, weight, "follow-up late", one.about, evidence, since, f"{says}, {until}.", ends, first, after
        )

    found = [] if closed == since else [part(Weight.FIX, "still open", "A good reading ends it.", since, closed)]
    if closed:
        words = f"closed on {day_words(closed)}"
        found.append(part(Weight.NOTE, words, "A corrective action closes it.", closed))
    return found
