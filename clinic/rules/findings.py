"""What an inspector would object to about equipment, from plain data. Each finding names its evidence and what ends it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from clinic.rules.cover import EntryCover, EntryStanding
from clinic.rules.upkeep_facts import UpkeepSpan, UpkeepState
from clinic.rules.wording import counted, overdue_since, plain_day


class Weight(StrEnum):
    STOP = "stop"
    FIX = "fix"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Finding:
    """`key` is the same on every day of one occurrence, so that a corrective action can close it; what comes back has
    another key and is open again. `evidence` holds ids of facts."""

    key: str
    weight: Weight
    code: str
    about: str
    evidence: tuple[str, ...]
    since: date
    sentence: str
    ends_when: str


def finding_key(code: str, *parts: str | date) -> str:
    """Code, what it is about and the day or fact it began with, with colons between."""
    return ":".join([code, *(part.isoformat() if isinstance(part, date) else part for part in parts)])


@dataclass(frozen=True, slots=True)
class TaskOnUnit:
    task: str
    unit: str
    title: str
    unit_id: str
    spans: tuple[UpkeepSpan, ...]


def overdue_upkeep(tasks: Iterable[TaskOnUnit], today: date) -> list[Finding]:
    """Upkeep that is overdue today, to be fixed."""
    late = ((task, overdue_since(task.spans, today)) for task in tasks)
    return [_overdue(task, since, today) for task, since in late if since]


def _overdue(task: TaskOnUnit, since: date, today: date) -> Finding:
    about = f"{task.title}, {task.unit}"
    causes = [s.cause for s in task.spans if s.state is UpkeepState.OVERDUE and since <= s.first <= today and s.cause]
    return Finding(
        finding_key("upkeep overdue", task.task, task.unit_id, since),
        Weight.FIX,
        "upkeep overdue",
        about,
        tuple(dict.fromkeys(causes)),
        since,
        f"{about}: overdue since {plain_day(since)}, {counted((today - since).days + 1, 'day')}.",
        "An entry for this task ends it.",
    )


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
            f"{entry.about}, {plain_day(entry.day)}: {entry.cover.sentence}",
            "A corrective action that says what was done about it closes it.",
        )
        for entry in entries
        if entry.cover.standing is EntryStanding.NOBODY_USABLE
    ]


@dataclass(frozen=True, slots=True)
class FollowUpOpen:
    id: str
    entry_id: str
    about: str
    due_on: date
    closed_on: date | None = None


def late_follow_ups(follow_ups: Sequence[FollowUpOpen], today: date) -> list[Finding]:
    """A reading out of limits without follow-up in time. One closed late stays as a note."""
    return [_late(one, today) for one in follow_ups if one.due_on < min(one.closed_on or today, today)]


def _late(one: FollowUpOpen, today: date) -> Finding:
    closed = one.closed_on if one.closed_on and one.closed_on <= today else None
    until = f"closed on {plain_day(closed)}" if closed else "still open"
    return Finding(
        finding_key("follow-up late", one.id),
        Weight.NOTE if closed else Weight.FIX,
        "follow-up late",
        one.about,
        (one.entry_id, one.id),
        one.due_on,
        f"{one.about}: out of limits, follow-up due {plain_day(one.due_on)}, {until}.",
        "A corrective action closes it." if closed else "A good reading ends it.",
    )
