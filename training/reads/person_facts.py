"""Every fact about one person’s training, one line each, newest first. A fixed number of queries."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from clinic.models import Person, Seal
from clinic.models.people import name_columns, name_in, name_then_in
from clinic.rules.days import written_later
from clinic.rules.words import begun, short_day
from training.models import (
    Attendance,
    Authority,
    CarriedOver,
    FoundingGrant,
    Issue,
    KnowledgeResult,
    Observation,
    SignOff,
    Withdrawal,
)
from training.rules.facts import Method
from training.rules.sheets import from_paper_words
from training.rules.wording import METHODS, outcome_words


@dataclass(frozen=True, slots=True)
class FactLine:
    """One fact in a list. `codes`: of the procedures it is about. `shape` names the drawn shape beside it."""

    id: Any
    day: date
    codes: tuple[str, ...]
    says: str
    shape: str
    recorded_at: Any
    written: date | None = None
    put_right: bool = False
    is_certificate: bool = False


def facts_of(person: Person, code: str | None = None, known_by: datetime | None = None) -> list[FactLine]:
    """Those of one procedure, or all; recorded by an instant, or ever. A fact that a later one put right is still there, and
    says so."""
    lines = [line for reader in READERS for line in reader(person) if code is None or code in line.codes]
    known = [line for line in lines if known_by is None or line.recorded_at <= known_by]
    right = Seal.objects.filter(corrects__in=[line.id for line in known])
    right = right.filter(recorded_at__lte=known_by) if known_by else right
    voided = set(right.values_list("corrects", flat=True))
    marked = [replace(line, put_right=line.id in voided) for line in known]
    return sorted(marked, key=lambda line: (line.day, line.recorded_at), reverse=True)


def observations(person: Person) -> Iterator[FactLine]:
    columns = ("purpose", "method", "outcome", "critical_miss", "stopped", "witness__printed_name")
    people = name_columns("observer")
    for row in read(Observation, person, "version__procedure__code", *columns, *people, *ON_SHEET):
        by = row["witness__printed_name"] or name_in(row, "observer")
        practice = row["purpose"] == Observation.Purpose.PRACTICE
        came_to = outcome_words(
            row["outcome"], practice=practice, stopped=row["stopped"], critical_miss=row["critical_miss"]
        )
        what = begun(came_to) if practice else f"Assessment, {came_to}"
        met = row["outcome"] == "met" and row["purpose"] == Observation.Purpose.ASSESSMENT
        yield line(
            row,
            row["version__procedure__code"],
            f"{what}; {METHODS[Method(row['method'])]}, watched by {by}{on_sheet(row)}",
            "alone" if met else "prompted",
        )


ON_SHEET = (
    "sheet__number", "sheet__recorded_at", *name_columns("sheet__recorded_by"), *name_columns("recorded_by"),
)  # fmt: skip


def on_sheet(row: dict[str, Any]) -> str:
    """From paper, sheet 0123, entered by … on …; empty for what was marked at the bench."""
    if row["sheet__number"] is None:
        return ""
    entered = row["sheet__recorded_at"].astimezone(ZoneInfo(row["site__time_zone"])).date()
    compared = name_in(row, "recorded_by") if row["witness__printed_name"] else ""
    return f"; {from_paper_words(row['sheet__number'], name_in(row, 'sheet__recorded_by'), entered, compared)}"


def results(person: Person) -> Iterator[FactLine]:
    for row in read(KnowledgeResult, person, "version__procedure__code", "version__number", "passed"):
        outcome = "passed" if row["passed"] else "not passed"
        says = f"Knowledge check of version {row['version__number']} {outcome}"
        yield line(row, row["version__procedure__code"], says, "asked")


def sign_offs(person: Person) -> Iterator[FactLine]:
    columns = ("version__procedure__code", "version__number", "signer_name", "valid_until", *name_columns("signer"))
    for row in read(SignOff, person, *columns):
        until = (
            f", valid through {short_day(row['valid_until'])}"
            if row["valid_until"]
            else ", with no end by the calendar"
        )
        says = f"Signed off on version {row['version__number']} by {name_then_in(row, 'signer_name', 'signer')}{until}"
        yield line(row, row["version__procedure__code"], says, "current")


def withdrawals(person: Person) -> Iterator[FactLine]:
    for row in read(Withdrawal, person, "procedure__code", "signer_name", "reason", *name_columns("recorded_by")):
        says = f"Withdrawn by {name_then_in(row, 'signer_name', 'recorded_by')}: {row['reason']}"
        yield line(row, row["procedure__code"], says, "withdrawn")


def carried_over(person: Person) -> Iterator[FactLine]:
    columns = ("procedure__code", "original_day", "by_whom", "paper_place", "valid_until", *name_columns("recorded_by"))
    for row in read(CarriedOver, person, *columns):
        says = (
            f"Carried over from paper, entered by {name_in(row, 'recorded_by') or 'the register'}: "
            f"mastered {short_day(row['original_day'])}; the paper names {row['by_whom']}, and is kept at: {row['paper_place']}; valid through {short_day(row['valid_until'])}"
        )
        yield line(row, row["procedure__code"], says, "current")


def founding_grants(person: Person) -> Iterator[FactLine]:
    words = dict(FoundingGrant.RestsOn.choices)
    for row in read(FoundingGrant, person, "procedures", "to_day", "rests_on", "detail"):
        rests = words[row["rests_on"]].lower()
        says = f"Founding grant through {short_day(row['to_day'])}, resting on {rests}: {row['detail']}"
        yield line(row, row["procedures"], says, "current")


def authority(person: Person) -> Iterator[FactLine]:
    for row in read(Authority, person, "procedures", "areas", "to_day"):
        covers = ", ".join([*row["areas"], *row["procedures"]])
        through = f" through {short_day(row['to_day'])}" if row["to_day"] else ""
        yield line(row, row["procedures"], f"Authority to observe and sign{through}: {covers}", "stop")


def taught(person: Person) -> Iterator[FactLine]:
    """One line a session, with every topic of it."""
    rows = Attendance.objects.filter(person=person).select_related("session__site")
    for row in rows.prefetch_related("session__topics__version__procedure"):
        session = row.session
        codes = tuple(topic.version.procedure.code for topic in session.topics.all())
        lacks = f"; does not count yet, it lacks {', '.join(session.missing_fields)}" if session.missing_fields else ""
        says = f"Taught by {session.trainer_name or 'somebody not named'}, attended as {row.job_title or 'somebody without a title'}{lacks}"
        at = {"site__time_zone": session.site.time_zone, "recorded_at": session.recorded_at}
        yield line({"id": session.pk, "happened_on": session.happened_on, **at}, codes, says, "alone")


def certificates(person: Person) -> Iterator[FactLine]:
    for row in read(Issue, person, "procedure__code", "number"):
        issued = line(row, row["procedure__code"] or "", f"Certificate {row['number']} issued", "note")
        yield replace(issued, is_certificate=True)


READERS = (
    observations, results, sign_offs, withdrawals, carried_over, founding_grants, authority, taught, certificates,
)  # fmt: skip


def read(model: Any, person: Person, *columns: str) -> Iterable[dict[str, Any]]:
    rows: Iterable[dict[str, Any]] = model.objects.filter(person=person).values(
        "id", "happened_on", "recorded_at", "site__time_zone", *columns
    )
    return rows


def line(row: dict[str, Any], codes: str | Iterable[str], says: str, shape: str) -> FactLine:
    about = (codes,) if isinstance(codes, str) else tuple(codes)
    done, instant = row["happened_on"], row["recorded_at"]
    written = written_later(done, instant.astimezone(ZoneInfo(row["site__time_zone"])).date())
    return FactLine(row["id"], done, about, says, shape, instant, written)
