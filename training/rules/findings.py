"""What an inspector would object to about people's training and signatures, from plain data.

A ring of signers, work to a version past its deadline and a record with a missing field are not here.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from clinic.rules.findings import Finding, Weight, finding_key
from clinic.rules.wording import counted, plain_day


@dataclass(frozen=True, slots=True)
class Required:
    """A procedure asked of a person by its due day, and whether that person is usable in it today."""

    person: str
    person_id: str
    procedure: str
    due_on: date
    usable: bool
    evidence: tuple[str, ...] = ()


def training_overdue(required: Iterable[Required], today: date) -> list[Finding]:
    """Not usable after the due day. The due day itself is still good."""
    return [_overdue(one, today) for one in required if not one.usable and one.due_on < today]


def _overdue(one: Required, today: date) -> Finding:
    about = f"{one.person}, {one.procedure}"
    return Finding(
        finding_key("training overdue", one.person_id, one.procedure, one.due_on),
        Weight.FIX,
        "training overdue",
        about,
        one.evidence,
        one.due_on,
        f"{about}: was due {plain_day(one.due_on)}, {counted((today - one.due_on).days, 'day')} ago.",
        "A sign-off ends it, or the end of the requirement.",
    )


@dataclass(frozen=True, slots=True)
class Signature:
    """A sign-off with whether its signer had authority, and was usable, on its day."""

    id: str
    day: date
    person: str
    person_id: str
    signer: str
    signer_id: str
    procedure: str
    had_authority: bool
    was_usable: bool
    withdrawn: bool = False


def wrong_signatures(signatures: Iterable[Signature]) -> list[Finding]:
    """Signed for oneself, without authority or while not usable. It stops the work until it is withdrawn or voided."""
    return [_signature(one, wrong) for one in signatures if (wrong := _wrong(one)) and not one.withdrawn]


def _wrong(one: Signature) -> str:
    reasons = [
        "signed for oneself" if one.person_id == one.signer_id else "",
        "" if one.had_authority else "without authority that day",
        "" if one.was_usable else "while not usable in it",
    ]
    return " and ".join(filter(None, reasons))


def _signature(one: Signature, wrong: str) -> Finding:
    about = f"{one.person}, {one.procedure}"
    return Finding(
        finding_key("wrong signature", one.id),
        Weight.STOP,
        "wrong signature",
        about,
        (one.id,),
        one.day,
        f"{about}: signed by {one.signer} on {plain_day(one.day)}, {wrong}.",
        "A withdrawal, or a voiding of the sign-off with its reason, ends it.",
    )


@dataclass(frozen=True, slots=True)
class CriticalMiss:
    """A critical miss by a usable person, and the day somebody withdrew or said why not."""

    id: str
    day: date
    person: str
    procedure: str
    answered_on: date | None = None


def unanswered_misses(misses: Iterable[CriticalMiss], today: date) -> list[Finding]:
    """Unanswered the next day. One that was answered, late or not, is none."""
    open_ones = (one for one in misses if one.answered_on is None or one.answered_on > today)
    return [_miss(one) for one in open_ones if one.day < today]


def _miss(one: CriticalMiss) -> Finding:
    about = f"{one.person}, {one.procedure}"
    return Finding(
        finding_key("critical miss unanswered", one.id),
        Weight.STOP,
        "critical miss unanswered",
        about,
        (one.id,),
        one.day,
        f"{about}: a critical step was missed on {plain_day(one.day)} and nobody has answered it.",
        "A withdrawal, or a reason why not, ends it.",
    )


def too_few_signers(signers: Iterable[tuple[str, tuple[str, ...], date]]) -> list[Finding]:
    """Fewer than two possible signers for a duty; each is (duty, the name of each, since). Two people may share a name."""
    return [
        Finding(
            finding_key("too few signers", duty, since),
            Weight.FIX,
            "too few signers",
            duty,
            (),
            since,
            f"{duty}: {' and '.join(names) or 'nobody'} can sign; two are needed, as nobody signs for oneself.",
            "A second person who is usable and has authority ends it.",
        )
        for duty, names, since in signers
        if len(names) < 2
    ]
