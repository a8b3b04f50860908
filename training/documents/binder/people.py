"""The roster, and a record per person."""

from training.documents.paper import short

from .content import BinderContent, PersonRecord
from .sheet import Sheet

SPANS = (("Procedure", 38), ("Standing", 26), ("From", 22), ("Through", 22), ("Basis", 20), ("Because", 47))
SEEN = (("Day", 21), ("Procedure", 34), ("Purpose, method", 34), ("Outcome", 20), ("Watched by", 32), ("Notes", 34))
SIGNED = (("Procedure", 32), ("What", 22), ("Signed by", 32), ("At", 28), ("Meaning", 42), ("Through", 21))


def draw_roster(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("roster", "Roster", f"{len(content.roster)} people at {content.site} in the period.")
    rows = [(m.name, m.job_roles, short(m.since), day_or(m.until, "still here")) for m in content.roster]
    sheet.table((("Name", 50), ("Job roles", 70), ("Since", 25), ("Until", 25)), rows, kind="People")


def day_or(day: str, otherwise: str) -> str:
    """The day, or the words where there is none."""
    return short(day) if day else otherwise


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("people", "A record per person")
    if not content.people:
        sheet.para("No person has a record in the period.", "I")
    for n, person in enumerate(content.people):
        _record(sheet, person, f"person-{n}")


def _record(sheet: Sheet, person: PersonRecord, key: str) -> None:
    sheet.head(person.name, key)
    sheet.term("People", person.name)
    sheet.para(person.job_roles)
    spans = [(s.procedure, s.state, short(s.first), day_or(s.through, "open"), s.basis, s.cause) for s in person.spans]
    sheet.label("Standing")
    sheet.table(SPANS, spans, kind="Procedures", shape=1)
    sheet.label("Observations")
    seen = [
        (
            short(o.day),
            f"{o.procedure}, version {o.version}",
            f"{o.purpose}, {o.method}",
            o.outcome,
            o.watched_by,
            o.notes,
        )
        for o in person.observations
    ]
    sheet.table(SEEN, seen)
    sheet.label("Signatures")
    signed = [
        (
            f"{s.procedure}, version {s.version}",
            s.kind,
            s.signer,
            short(s.at),
            s.meaning,
            day_or(s.through, "no end set"),
        )
        for s in person.sign_offs
    ]
    sheet.table(SIGNED, signed)
    for check in person.checks:
        sheet.para(check)
