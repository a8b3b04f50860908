"""What an inspector would object to about records: a missing field, questions never asked live, training allowed only after
the first exposure, work to an old version, a site fact that is not filled in, a seal check that is late or found a break.
From plain data."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from clinic.rules.findings import DAY, Days, Finding, Weight, finding_key, runs, swept, together
from clinic.rules.words import counted, day_words, listed

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
    about = f"{one.topics}, {day_words(one.day)}"
    return Finding(
        finding_key(code, one.id), Weight.FIX, code, about, (one.id,), one.day, f"{about}: {says}; it does not count.", ends,
        one.day,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class DaysAllowed:
    """What a job role asks of the topic on bloodborne pathogens on [first, after), and within how many days."""

    role: str
    role_id: str
    topic: str
    days: int
    first: date
    after: date | None = None

    def holds_on(self, day: date) -> bool:
        return self.first <= day and (self.after is None or day < self.after)


def exposed_before_training(asked: Iterable[DaysAllowed]) -> list[Finding]:
    """Whoever may meet blood is trained at the first assignment, before that work, so a role that allows days for it is
    wrong however soon it is taught (row O-01). Of several that ask it of one role the shortest counts."""
    roles: dict[str, list[DaysAllowed]] = {}
    for one in asked:
        roles.setdefault(one.role_id, []).append(one)
    return [part for rows in roles.values() for run in runs(_late_by(rows)) for part in exposed(rows[0], run)]


def _late_by(rows: Sequence[DaysAllowed]) -> list[tuple[date, date | None, int]]:
    def shortest(day: date) -> int | None:
        return min((one.days for one in rows if one.holds_on(day)), default=0) or None

    return swept([edge for one in rows for edge in (one.first, one.after)], shortest)


def exposed(one: DaysAllowed, run: Sequence[tuple[date, date | None, int]]) -> list[Finding]:
    code, since, about = "exposed before training", run[0][0], f"{one.role}, {one.topic}"
    return [
        Finding(
            finding_key(code, one.role_id, since), Weight.FIX, code, about, (), since,
            f"{about}: the role allows {counted(days, 'day')} for it. Whoever may meet blood is trained at the first "
            "assignment, before that work (29 CFR 1910.1030(g)(2)).",
            "End the requirement, and ask it again with 0 days.",
            first, after,
        )
        for first, after, days in run
    ]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Jumped:
    """A jump of the clock: the fact of it, the day, what it says, and the day on which somebody answered it."""

    id: str
    day: date
    says: str
    answered: date | None = None


def clock_jumps(rows: Iterable[Jumped]) -> list[Finding]:
    """Records near a jump bear wrong instants, until somebody says openly what was wrong."""
    return [
        Finding(
            finding_key("clock jumped", one.id), Weight.FIX, "clock jumped", "the record", (one.id,), one.day, one.says,
            "Set the clock, then say what happened: “manage.py clock right” records it, and ends it.",
            one.day, one.answered,
        )
        for one in rows
        if one.answered is None or one.day < one.answered
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
    """Work to a version past its deadline. It is past, and can only be explained; a part for each day that added some."""
    return [part for one in people if one.entries for part in old_work(one)]


def old_work(one: PastDeadline) -> list[Finding]:
    since = min(day for _, day in one.entries)
    about = f"{one.person}, {one.procedure}"

    def done(day: date) -> tuple[str, ...]:
        return tuple(fact for fact, on in one.entries if on <= day)

    return [
        Finding(
            finding_key("old version", one.person_id, one.procedure, one.since),
            Weight.NOTE,
            "old version",
            about,
            work,
            since,
            f"{about}: {counted(len(work), 'piece')} of work since {day_words(since)}, after version {one.version}"
            " asked to be watched again.",
            "A corrective action that says what was done about it closes it.",
            first,
            after,
        )
        for first, after, work in swept([day for _, day in one.entries], done)
    ]


@dataclass(frozen=True, slots=True)
class FactAsked:
    """A site fact of the site, or of one unit. `used`: code of a procedure → days on which a version in force uses it here;
    `answered`: the first day on which it has an answer."""

    name: str
    unit: str
    used: Mapping[str, Sequence[Days]]
    answered: date | None = None


def missing_site_facts(asked: Iterable[FactAsked]) -> list[Finding]:
    """Site facts that versions in force use and nobody has answered; a part for each change of who uses it."""
    return [part for one in asked for run in runs(_unanswered(one)) for part in empty_fact(one, run)]


def _unanswered(one: FactAsked) -> list[tuple[date, date | None, tuple[str, ...]]]:
    using = together(one.used)
    if one.answered is None:
        return using
    ends = [(first, min(filter(None, (after, one.answered))), codes) for first, after, codes in using]
    return [part for part in ends if part[0] < part[1]]


def empty_fact(one: FactAsked, run: Sequence[tuple[date, date | None, tuple[str, ...]]]) -> list[Finding]:
    about, since = f"“{one.name}”{f' of {one.unit}' if one.unit else ''}", run[0][0]
    return [
        Finding(
            finding_key("site fact empty", one.name, one.unit, since),
            Weight.FIX,
            "site fact empty",
            about,
            (),
            since,
            f"{about} is not filled in, and {listed(codes)} {'uses' if len(codes) == 1 else 'use'} it.",
            "An answer in the walk round ends it; “not used here” is an answer.",
            first,
            after,
        )
        for first, after, codes in run
    ]


@dataclass(frozen=True, slots=True)
class SealCheck:
    """A time every seal of the site was recomputed. `start`: the register start day. `differences`: stored timelines that
    were not what the facts say. Without a day: it never was."""

    id: str
    day: date | None
    breaks: int
    start: date
    differences: int = 0


def seal_check(checks: Iterable[SealCheck], start: date) -> list[Finding]:
    """A broken seal stops everything until a clean check; a check older than a week is to be fixed. `checks` in order; the
    last of a day counts."""
    by_day = {check.day: check for check in checks if check.day is not None}
    days = sorted(by_day)
    found = late_check(None, start, days[0] if days else None)
    for day, following in zip(days, [*days[1:], None], strict=False):
        found += late_check(day, day, following) if not by_day[day].breaks else []
    return [*found, *(part for run in _broken_runs(by_day) for part in broken(run))]


def late_check(last: date | None, counted_from: date, following: date | None) -> list[Finding]:
    """From the eighth day after the last one until the next."""
    since = counted_from + timedelta(days=SEAL_CHECK_DAYS) + DAY
    if following is not None and following <= since:
        return []
    says = f"The seals {f'were last checked on {day_words(last)}' if last else 'were never checked'}."
    key, ends = finding_key("seal check late", since), "A check of the seals ends it."
    about = ("the record", (), since, says, ends, since, following)
    return [Finding(key, Weight.FIX, "seal check late", *about)]


def _broken_runs(by_day: Mapping[date, SealCheck]) -> list[list[tuple[date, date | None, SealCheck]]]:
    return runs(swept(by_day, lambda day: by_day[day] if by_day[day].breaks else None))


def broken(run: Sequence[tuple[date, date | None, SealCheck]]) -> list[Finding]:
    """One occurrence until a clean check; each check that found a break says what it found."""
    since = run[0][0]
    return [
        Finding(
            finding_key("broken seal", since),
            Weight.STOP,
            "broken seal",
            "the record",
            (check.id,),
            since,
            f"The last check, {day_words(first)}, found {counted(check.breaks, 'broken seal')}.",
            "Find what broke, restore it from a backup, and a clean check ends it.",
            first,
            after,
        )
        for first, after, check in run
    ]
