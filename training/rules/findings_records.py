"""What an inspector would object to about records: a missing field, questions never asked live, work to an old version,
a site fact that is not filled in, a seal check that is late or found a break. From plain data."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from clinic.rules.findings import Finding, Weight, finding_key
from clinic.rules.wording import counted, plain_day
from training.rules.wording import listed

LIVE = "live questions with the trainer"
SEAL_CHECK_DAYS = 7  # our own choice: the check is one command


@dataclass(frozen=True, slots=True)
class SessionKept:
    """A taught session and what its record lacks, in words (row O-05); attendees without a job title included."""

    id: str
    day: date
    topics: str
    missing: tuple[str, ...]


def records_with_gaps(sessions: Iterable[SessionKept]) -> list[Finding]:
    """A session that lacks a field does not count until a corrected record stands in its place (rows O-04, O-05)."""
    return [gap(one) for one in sessions if one.missing]


def gap(one: SessionKept) -> Finding:
    only_live = one.missing == (LIVE,)
    code = "questions not live" if only_live else "record with a gap"
    says = "questions could not be asked live" if only_live else f"the record lacks {listed(one.missing)}"
    ends = (
        "Teach it again with a trainer who answers at once." if only_live else "A corrected record that has it ends it."
    )
    about = f"{one.topics}, {plain_day(one.day)}"
    return Finding(
        finding_key(code, one.id), Weight.FIX, code, about, (one.id,), one.day, f"{about}: {says}; it does not count.", ends
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Jumped:
    """A jump of the clock that nobody answered: the fact of it, the day, and what it says."""

    id: str
    day: date
    says: str


def clock_jumps(rows: Iterable[Jumped]) -> list[Finding]:
    """Records near a jump bear wrong instants, until somebody says openly what was wrong."""
    return [
        Finding(
            finding_key("clock jumped", one.id), Weight.FIX, "clock jumped", "the record", (one.id,), one.day, one.says,
            "Set the clock, then say what happened: “manage.py clock right” records it, and ends it.",
        )
        for one in rows
    ]  # fmt: skip


@dataclass(frozen=True, slots=True)
class PastDeadline:
    """Somebody whose sign-off ended because a later version asked to be watched again, and work done since."""

    person: str
    person_id: str
    procedure: str
    version: str
    since: date
    entries: tuple[tuple[str, date], ...]  # id and day of work of this procedure on or after `since`


def work_past_deadline(people: Iterable[PastDeadline]) -> list[Finding]:
    """Work to a version past its deadline. It is past, and can only be explained."""
    return [old_work(one) for one in people if one.entries]


def old_work(one: PastDeadline) -> Finding:
    first = min(day for _, day in one.entries)
    about = f"{one.person}, {one.procedure}"
    return Finding(
        finding_key("old version", one.person_id, one.procedure, one.since),
        Weight.NOTE,
        "old version",
        about,
        tuple(fact for fact, _ in one.entries),
        first,
        f"{about}: {counted(len(one.entries), 'piece')} of work since {plain_day(first)}, after version {one.version}"
        " asked to be watched again.",
        "A corrective action that says what was done about it closes it.",
    )


def missing_site_facts(asked: Mapping[tuple[str, str], Iterable[str]], since: Mapping[str, date]) -> list[Finding]:
    """Site facts that versions in force use and nobody has answered. `asked`: (fact, unit or "") → codes that use it;
    `since`: fact → first day a version in force used it."""
    return [
        empty_fact(fact, unit, sorted(set(codes)), since[fact])
        for (fact, unit), codes in sorted(asked.items())
        if codes
    ]


def empty_fact(fact: str, unit: str, codes: list[str], since: date) -> Finding:
    about = f"“{fact}”{f' of {unit}' if unit else ''}"
    return Finding(
        finding_key("site fact empty", fact, unit, since),
        Weight.FIX,
        "site fact empty",
        about,
        (),
        since,
        f"{about} is not filled in, and {listed(codes)} {'uses' if len(codes) == 1 else 'use'} it.",
        "An answer in the walk round ends it; “not used here” is an answer.",
    )


@dataclass(frozen=True, slots=True)
class SealCheck:
    """The last time every seal of the site was recomputed. `start`: the register start day. `differences`: stored
    timelines that were not what the facts say."""

    id: str
    day: date | None
    breaks: int
    start: date
    differences: int = 0


def seal_check(check: SealCheck, today: date) -> list[Finding]:
    """A broken seal stops everything; a check older than a week is to be fixed."""
    if check.day is not None and check.breaks:
        says = f"The last check, {plain_day(check.day)}, found {counted(check.breaks, 'broken seal')}."
        ends = "Find what broke, restore it from a backup, and a clean check ends it."
        key = finding_key("broken seal", check.day)
        return [Finding(key, Weight.STOP, "broken seal", "the record", (check.id,), check.day, says, ends)]
    since = (check.day or check.start) + timedelta(days=SEAL_CHECK_DAYS + 1)
    if since > today:
        return []
    last = f"were last checked on {plain_day(check.day)}" if check.day else "were never checked"
    says, key = f"The seals {last}.", finding_key("seal check late", since)
    return [Finding(key, Weight.FIX, "seal check late", "the record", (), since, says, "A check of the seals ends it.")]
