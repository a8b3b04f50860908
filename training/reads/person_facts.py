"""Every fact about one person’s training, one line each, newest first; all, or as many as a page shows. A fixed number of queries."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from clinic.models import Person, Seal
from clinic.models.people import name_columns, name_in, name_then_in
from clinic.prepared import Prepared
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

A_PAGE = 40  # facts


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


@dataclass(frozen=True, slots=True)
class Asked:
    """Which facts: about the person, of one procedure or all, on the days from `first` on and through `through` (None: any
    day), and these besides, whatever their day."""

    person: Person
    code: str | None = None
    first: date | None = None
    through: date | None = None
    these: Collection[Any] = ()

    def rows(self, model: Any, fact: str = "") -> QuerySet[Any, Any]:
        """Of the model, whose fact is the row itself or one that it names."""
        days = Q(**{f"{fact}happened_on__gte": self.first}) if self.first else Q()
        days &= Q(**{f"{fact}happened_on__lte": self.through}) if self.through else Q()
        these = Q(**{f"{fact}id__in": self.these}) if self.these and days else Q()
        rows: QuerySet[Any, Any] = model.objects.filter(days | these, person=self.person)
        return rows

    def shows(self, line: "FactLine") -> bool:
        """Whether it stands in the list, and is not only named beside it."""
        return (self.first is None or self.first <= line.day) and (self.through is None or line.day <= self.through)


@dataclass(frozen=True, slots=True)
class FactsShown:
    """The part of the list that a page shows: whole days, newest first. `earlier`: the last day of what comes before them
    (None: nothing does). `through`: the day that they were asked through, None for the newest. `these`: what was asked for
    besides, and of one procedure every certificate."""

    lines: list[FactLine]
    these: list[FactLine]
    earlier: date | None
    through: date | None


def facts_of(person: Person, code: str | None = None, known_by: datetime | None = None) -> list[FactLine]:
    """Those of one procedure, or all; recorded by an instant, or ever. A fact that a later one put right is still there, and
    says so."""
    return lines_asked(Asked(person, code), known_by)


def facts_shown(
    person: Person,
    code: str | None = None,
    known_by: datetime | None = None,
    through: date | None = None,
    these: Collection[Any] = (),
) -> FactsShown:
    """The newest of the same, or the newest through a day: so many that nothing is long, however old the register is."""
    first, earlier = days_shown(person, code, known_by, through)
    asked = Asked(person, code, first, through, these)
    lines = lines_asked(asked, known_by)
    named = [line for line in lines if line.is_certificate or line.id in {*these}]
    return FactsShown([line for line in lines if asked.shows(line)], named, earlier, through)


def days_shown(
    person: Person, code: str | None, known_by: datetime | None, through: date | None
) -> tuple[date | None, date | None]:
    """The first day that is shown, and the last one before it on which anything happened. Two queries."""
    asked = {"people": [person.pk], "codes": [code] if code else None}
    newest = [day for (day,) in DAYS.rows(known_by, through=[through] if through else None, **asked)]
    if len(newest) < A_PAGE:
        return None, None
    first = newest[-1]
    before = [day for (day,) in DAYS.rows(known_by, through=[first - timedelta(days=1)], **asked)]
    return (first, before[0]) if before else (None, None)


def days_of(people: Any, codes: Any, through: Any, known_by: datetime | None = None) -> QuerySet[Any, Any]:
    """The days of as many facts as a page shows, newest first. What covers several procedures is not narrowed to one."""
    first, *others = (
        narrowed(model.objects.filter(person__in=people).order_by(), code, codes, through, known_by)
        for model, code in KINDS
    )
    return first.union(*others, all=True).order_by("-happened_on")[:A_PAGE]


def narrowed(rows: Any, code: str, codes: Any, through: Any, known_by: datetime | None) -> Any:
    fact = "session__" if rows.model is Attendance else ""
    rows = rows.filter(**{f"{code}__in": codes}) if code and codes else rows
    rows = rows.filter(**{f"{fact}happened_on__lte": through[0]}) if through else rows
    rows = rows.filter(**{f"{fact}recorded_at__lte": known_by}) if known_by else rows
    return rows.values_list(f"{fact}happened_on")


OF_VERSION = "version__procedure__code"
KINDS: tuple[tuple[Any, str], ...] = (
    (Observation, OF_VERSION), (KnowledgeResult, OF_VERSION), (SignOff, OF_VERSION), (Withdrawal, "procedure__code"),
    (CarriedOver, "procedure__code"), (FoundingGrant, ""), (Authority, ""), (Issue, "procedure__code"),
    (Attendance, f"session__topics__{OF_VERSION}"),
)  # fmt: skip
"""Every kind of fact in the list, and the column that names its procedure, where it names one."""
DAYS = Prepared(days_of)


def lines_asked(asked: Asked, known_by: datetime | None) -> list[FactLine]:
    lines = [line for reader in READERS for line in reader(asked) if asked.code is None or asked.code in line.codes]
    known = [line for line in lines if known_by is None or line.recorded_at <= known_by]
    right = Seal.objects.filter(corrects__in=[line.id for line in known])
    right = right.filter(recorded_at__lte=known_by) if known_by else right
    voided = set(right.values_list("corrects", flat=True))
    marked = [replace(line, put_right=True) if line.id in voided else line for line in known]
    return sorted(marked, key=lambda line: (line.day, line.recorded_at), reverse=True)


def observations(asked: Asked) -> Iterator[FactLine]:
    columns = ("purpose", "method", "outcome", "critical_miss", "stopped", "witness__printed_name")
    people = name_columns("observer")
    for row in read(Observation, asked, OF_VERSION, *columns, *people, *ON_SHEET):
        by = row["witness__printed_name"] or name_in(row, "observer")
        practice = row["purpose"] == Observation.Purpose.PRACTICE
        came_to = outcome_words(
            row["outcome"], practice=practice, stopped=row["stopped"], critical_miss=row["critical_miss"]
        )
        what = begun(came_to) if practice else f"Assessment, {came_to}"
        met = row["outcome"] == "met" and row["purpose"] == Observation.Purpose.ASSESSMENT
        yield line(
            row,
            row[OF_VERSION],
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


def results(asked: Asked) -> Iterator[FactLine]:
    for row in read(KnowledgeResult, asked, OF_VERSION, "version__number", "passed"):
        outcome = "passed" if row["passed"] else "not passed"
        says = f"Knowledge check of version {row['version__number']} {outcome}"
        yield line(row, row[OF_VERSION], says, "asked")


def sign_offs(asked: Asked) -> Iterator[FactLine]:
    columns = ("version__number", "signer_name", "valid_until", *name_columns("signer"))
    for row in read(SignOff, asked, OF_VERSION, *columns):
        until = (
            f", valid through {short_day(row['valid_until'])}"
            if row["valid_until"]
            else ", with no end by the calendar"
        )
        says = f"Signed off on version {row['version__number']} by {name_then_in(row, 'signer_name', 'signer')}{until}"
        yield line(row, row[OF_VERSION], says, "current")


def withdrawals(asked: Asked) -> Iterator[FactLine]:
    for row in read(Withdrawal, asked, "procedure__code", "signer_name", "reason", *name_columns("recorded_by")):
        says = f"Withdrawn by {name_then_in(row, 'signer_name', 'recorded_by')}: {row['reason']}"
        yield line(row, row["procedure__code"], says, "withdrawn")


def carried_over(asked: Asked) -> Iterator[FactLine]:
    columns = ("original_day", "by_whom", "paper_place", "valid_until", *name_columns("recorded_by"))
    for row in read(CarriedOver, asked, "procedure__code", *columns):
        says = (
            f"Carried over from paper, entered by {name_in(row, 'recorded_by') or 'the register'}: "
            f"mastered {short_day(row['original_day'])}; the paper names {row['by_whom']}, and is kept at: {row['paper_place']}; valid through {short_day(row['valid_until'])}"
        )
        yield line(row, row["procedure__code"], says, "current")


def founding_grants(asked: Asked) -> Iterator[FactLine]:
    words = dict(FoundingGrant.RestsOn.choices)
    for row in read(FoundingGrant, asked, "procedures", "to_day", "rests_on", "detail"):
        rests = words[row["rests_on"]].lower()
        says = f"Founding grant through {short_day(row['to_day'])}, resting on {rests}: {row['detail']}"
        yield line(row, row["procedures"], says, "current")


def authority(asked: Asked) -> Iterator[FactLine]:
    for row in read(Authority, asked, "procedures", "areas", "to_day"):
        covers = ", ".join([*row["areas"], *row["procedures"]])
        through = f" through {short_day(row['to_day'])}" if row["to_day"] else ""
        yield line(row, row["procedures"], f"Authority to observe and sign{through}: {covers}", "stop")


def taught(asked: Asked) -> Iterator[FactLine]:
    """One line a session, with every topic of it."""
    rows = asked.rows(Attendance, "session__").select_related("session__site")
    if asked.code:
        rows = rows.filter(**{f"session__topics__{OF_VERSION}": asked.code}).distinct()
    for row in rows.prefetch_related("session__topics__version__procedure"):
        session = row.session
        codes = tuple(topic.version.procedure.code for topic in session.topics.all())
        lacks = f"; does not count yet, it lacks {', '.join(session.missing_fields)}" if session.missing_fields else ""
        says = f"Taught by {session.trainer_name or 'somebody not named'}, attended as {row.job_title or 'somebody without a title'}{lacks}"
        at = {"site__time_zone": session.site.time_zone, "recorded_at": session.recorded_at}
        yield line({"id": session.pk, "happened_on": session.happened_on, **at}, codes, says, "alone")


def certificates(asked: Asked) -> Iterator[FactLine]:
    """Of one procedure every one, which its page lists by themselves."""
    for row in read(Issue, Asked(asked.person, asked.code) if asked.code else asked, "procedure__code", "number"):
        issued = line(row, row["procedure__code"] or "", f"Certificate {row['number']} issued", "note")
        yield replace(issued, is_certificate=True)


READERS = (
    observations, results, sign_offs, withdrawals, carried_over, founding_grants, authority, taught, certificates,
)  # fmt: skip


def read(model: Any, asked: Asked, about: str, *columns: str) -> Iterable[dict[str, Any]]:
    """`about`: the column that names the procedure, or the list of them."""
    rows = asked.rows(model)
    if asked.code and about.endswith("__code"):
        rows = rows.filter(**{about: asked.code})
    found: Iterable[dict[str, Any]] = rows.values(
        "id", "happened_on", "recorded_at", "site__time_zone", about, *columns
    )
    return found


def line(row: dict[str, Any], codes: str | Iterable[str], says: str, shape: str) -> FactLine:
    about = (codes,) if isinstance(codes, str) else tuple(codes)
    done, instant = row["happened_on"], row["recorded_at"]
    written = written_later(done, instant.astimezone(ZoneInfo(row["site__time_zone"])).date())
    return FactLine(row["id"], done, about, says, shape, instant, written)
