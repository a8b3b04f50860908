"""A record per person: standing, what it rests on, what was watched, signed, passed and taught."""

from reportlab.lib.units import mm

from training.documents.paper import GREY

from .content import BinderContent, PersonRecord
from .sheet import Sheet, day_or, short

# A record begins where its standing can be seen with its name.
ROOM = 70 * mm
SPANS = (
    ("Procedure", 38),
    ("Standing", 25),
    ("From", 20),
    ("Through", 20),
    ("Basis", 20),
    ("Because", 37),
    ("Fact", 16),
)
RESTS = (("Procedure", 44), ("Met, of watched", 26), ("Days", 12), ("Watched by", 22), ("Check", 36), ("Evidence", 30))
SEEN = (
    ("Day", 19),
    ("Procedure", 33),
    ("Purpose, method", 29),
    ("Outcome", 18),
    ("Watched by", 28),
    ("Notes", 33),
    ("Fact", 16),
)
SIGNED = (
    ("Procedure", 28),
    ("What", 19),
    ("Signed by", 27),
    ("At", 26),
    ("Meaning", 41),
    ("Through", 19),
    ("Fact", 16),
)


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("people", "A record per person")
    if not content.people:
        sheet.none("No person has a record in the period.")
    for n, person in enumerate(content.people):
        sheet.setting.tick(person.name)
        _record(sheet, person, f"person-{n}")


def _record(sheet: Sheet, person: PersonRecord, key: str) -> None:
    sheet.head(person.name, key, ROOM)
    sheet.term("People", person.name)
    sheet.para(person.job_roles, colour=GREY)
    if person.says:
        sheet.para(person.says, "B")
    _standing(sheet, person)
    _seen(sheet, person)
    _signed(sheet, person)
    _lines(sheet, "Knowledge checks", person.checks, "No knowledge check is recorded in the period.")
    _lines(sheet, "Taught", person.taught, "")
    _lines(sheet, "Put right later", person.corrections, "")


def _standing(sheet: Sheet, person: PersonRecord) -> None:
    sheet.label("Standing")
    rows = [
        (s.procedure, s.state, short(s.first), day_or(s.through, "open"), s.basis, s.cause, s.fact)
        for s in person.spans
    ]
    sheet.table(SPANS, rows, kind="Procedures", shape=1, facts=True, none="No standing in any procedure.")
    if person.evidence:
        sheet.label("What it rests on")
        rests = [
            (
                f"{e.procedure}, version {e.version}",
                f"{e.met} of {e.of}",
                str(e.days),
                str(e.watchers),
                e.check,
                e.evidence,
            )
            for e in person.evidence
        ]
        sheet.table(RESTS, rests)


def _seen(sheet: Sheet, person: PersonRecord) -> None:
    sheet.label("Observations")
    rows = [
        (
            short(o.day),
            f"{o.procedure}, version {o.version}{f', {o.unit}' if o.unit else ''}",
            f"{o.purpose}, {o.method}",
            o.outcome,
            o.watched_by,
            " ".join(filter(None, (o.notes, o.counts))),
            o.fact,
        )
        for o in person.observations
    ]
    sheet.table(SEEN, rows, facts=True, none="Nobody watched in the period.")


def _signed(sheet: Sheet, person: PersonRecord) -> None:
    sheet.label("Signatures")
    rows = [
        (
            f"{s.procedure}, version {s.version}",
            s.kind,
            s.signer,
            short(s.at),
            " ".join(filter(None, (s.meaning, s.elements and f"Elements covered: {s.elements}.", s.basis))),
            day_or(s.through, "no end set"),
            s.fact,
        )
        for s in person.sign_offs
    ]
    sheet.table(SIGNED, rows, facts=True, none="Nothing was signed in the period.")


def _lines(sheet: Sheet, label: str, lines: list[str], none: str) -> None:
    if lines:
        sheet.label(label)
    for line in lines:
        sheet.para(line, size=9.5)
    if none and not lines:
        sheet.none(none)
    sheet.y -= 4
