"""What an inspector would object to about people's training and signatures, from plain data.

Each function returns every stretch of every finding, past and to come. A ring of signers, work to a version past its
deadline and a record with a missing field are not here.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from clinic.rules.findings import DAY, DAYS, Days, Finding, Stretch, Weight, finding_key, runs, swept, together
from clinic.rules.words import day_words
from training.rules.wording import codes_in_runs


def holds(days: Iterable[Days], day: date) -> bool:
    return any(first <= day and (after is None or day < after) for first, after in days)


def day_after(day: date) -> date | None:
    """None where the calendar ends."""
    return day + DAY if day < date.max else None


def edges(days: Iterable[Days]) -> Iterable[date | None]:
    return (edge for pair in days for edge in pair)


@dataclass(frozen=True, slots=True)
class Ask:
    """A job role asks for a procedure while it is held and the requirement is in force; `due_on` is the last good day."""

    first: date
    after: date | None
    due_on: date

    def holds_on(self, day: date) -> bool:
        return self.first <= day and (self.after is None or day < self.after)


@dataclass(frozen=True, slots=True)
class EverRequired:
    """A procedure with all that ever asked it of a person, and the days on which that person may do it alone."""

    person: str
    person_id: str
    procedure: str
    code: str
    asks: Sequence[Ask]
    usable: Sequence[Days]


def training_overdue(required: Iterable[EverRequired]) -> list[Finding]:
    """Asked and not usable after the due day, the earliest where several ask. The due day itself is still good."""
    return [part for one in required for part in _overdue(one)]


def _overdue(one: EverRequired) -> list[Finding]:
    def late(day: date) -> date | None:
        """The due day that has passed, where one has."""
        due = min((ask.due_on for ask in one.asks if ask.holds_on(day)), default=day)
        return due if due < day and not holds(one.usable, day) else None

    asked = (edge for ask in one.asks for edge in (ask.first, ask.after, day_after(ask.due_on)))
    found = swept((*asked, *edges(one.usable)), late)
    return [part for run in runs(found) for part in _late(one, run[0][0], run)]


def _late(one: EverRequired, since: date, run: Sequence[tuple[date, date | None, date]]) -> list[Finding]:
    """From the day it was late: the day after the due day, or the day on which it stopped holding."""
    about = f"{one.person}, {one.procedure}"
    held = any(after == since for _, after in one.usable)
    parts = [(since, run[-1][1], run[0][2])] if held else run  # of what lapsed no due day is said
    return [
        Finding(
            finding_key("training overdue", one.person_id, one.code, since),
            Weight.FIX,
            "training overdue",
            about,
            (),
            since,
            f"{about}: not held since {day_words(since)}, {DAYS}."
            if held
            else f"{about}: was due {day_words(due)}, {DAYS} ago.",
            "A sign-off ends it, or the end of the requirement.",
            first,
            after,
            since - DAY if held else due,
        )
        for first, after, due in parts
    ]


@dataclass(frozen=True, slots=True)
class JudgedSignature:
    """A sign-off with whether its signer had authority, and was usable, on its day. `withdrawn`: the first day from then
    on of a withdrawal of what was signed."""

    id: str
    day: date
    person: str
    person_id: str
    signer: str
    signer_id: str
    procedure: str
    had_authority: bool
    was_usable: bool
    withdrawn: date | None = None


def wrong_signatures(signatures: Iterable[JudgedSignature]) -> list[Finding]:
    """Signed for oneself, without authority or while not usable. It stops the work until it is withdrawn or voided."""
    return [_signature(one, wrong) for one in signatures if (wrong := _wrong(one)) and one.withdrawn != one.day]


def _wrong(one: JudgedSignature) -> str:
    reasons = [
        "signed for oneself" if one.person_id == one.signer_id else "",
        "" if one.had_authority else "without authority that day",
        "" if one.was_usable else "while not usable in it",
    ]
    return " and ".join(filter(None, reasons))


def _signature(one: JudgedSignature, wrong: str) -> Finding:
    about = f"{one.person}, {one.procedure}"
    return Finding(
        finding_key("wrong signature", one.id),
        Weight.STOP,
        "wrong signature",
        about,
        (one.id,),
        one.day,
        f"{about}: signed by {one.signer} on {day_words(one.day)}, {wrong}.",
        "A withdrawal, or a voiding of the sign-off with its reason, ends it.",
        one.day,
        one.withdrawn,
    )


@dataclass(frozen=True, slots=True)
class CriticalMiss:
    """A critical miss by a usable person, and the day somebody withdrew or said why not."""

    id: str
    day: date
    person: str
    procedure: str
    answered_on: date | None = None


def unanswered_misses(misses: Iterable[CriticalMiss]) -> list[Finding]:
    """From the next day until it is answered. One answered on its day or the next is none."""
    return [_miss(one) for one in misses if one.answered_on is None or one.day + DAY < one.answered_on]


def _miss(one: CriticalMiss) -> Finding:
    about = f"{one.person}, {one.procedure}"
    return Finding(
        finding_key("critical miss unanswered", one.id),
        Weight.STOP,
        "critical miss unanswered",
        about,
        (one.id,),
        one.day + DAY,
        f"{about}: a critical step was missed on {day_words(one.day)} and nobody has answered it.",
        "A withdrawal, or a reason why not, ends it.",
        one.day + DAY,
        one.answered_on,
    )


@dataclass(frozen=True, slots=True)
class Duty:
    """A procedure that job roles of the site need on some days, and on which days each person could sign it."""

    code: str
    title: str
    needed: Sequence[Days]
    signers: Mapping[str, Sequence[Days]]


def too_few_signers(duties: Sequence[Duty], names: Mapping[str, str], start: date) -> list[Finding]:
    """Fewer than two possible signers for a duty, from the start on. What one person alone can sign, and what nobody can,
    is one finding each with its procedures, for as long as any of them hangs on that person. Two people may share a name."""
    by_code = {duty.code: duty for duty in duties}
    days = {duty.code: _short(duty, start) for duty in duties}
    found = []
    for who in sorted({who for stretches in days.values() for _, _, who in stretches}):
        mine = {code: [(first, after) for first, after, one in days[code] if one == who] for code in days}
        for run in runs(together(mine)):
            found += [_signers(who, names, [by_code[code] for code in part[2]], run[0][0], part) for part in run]
    return found


NEEDED = ""


def _short(duty: Duty, start: date) -> list[Stretch[str]]:
    """The days on which fewer than two can sign it, each with who can; empty where nobody can."""
    found = []
    for first, after, (needed, *can) in together({NEEDED: duty.needed, **duty.signers}):
        if needed == NEEDED and len(can) < 2 and (after is None or start < after):
            found.append((max(first, start), after, "".join(can)))
    return found


def _signers(
    who: str, names: Mapping[str, str], duties: Sequence[Duty], since: date, part: tuple[date, date | None, object]
) -> Finding:
    name = names[who] if who else "nobody"
    one = f"{duties[0].title} ({duties[0].code})"
    about = one if len(duties) == 1 else f"{len(duties)} procedures ({codes_in_runs(duty.code for duty in duties)})"
    return Finding(
        finding_key("too few signers", who or "nobody", since),
        Weight.FIX,
        "too few signers",
        about,
        (),
        since,
        f"{about}: {name} can sign; two are needed, as nobody signs for themselves.",
        "A second person who may work alone in it and has authority ends it." if who else "Two people who may work alone in it and have authority end it.",
        part[0],
        part[1],
    )  # fmt: skip
