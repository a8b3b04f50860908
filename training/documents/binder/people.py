"""A record per person: standing, what it rests on, what was watched, signed, passed and taught."""

import re
from collections import Counter
from operator import attrgetter

from reportlab.lib.units import mm

from clinic.rules.words import counted, in_text
from training.documents.paper import GREY
from training.rules.elements import NAMES
from training.rules.wording import codes_in_runs

from .content import BinderContent, PersonRecord, SignOffRow
from .sheet import Sheet, day_or, done_on, short

# A record begins where its standing can be seen with its name.
ROOM = 70 * mm
CODE = re.compile(r"\(([A-Z]\d+)\)")
BRIEF = (("Name", 34), ("Good for", 22), ("Watched", 32), ("By", 34), ("Topics taught", 48))
ALONE = (("Procedure", 58), ("May it be done alone? For a topic: does it hold?", 112))
SPANS = (("Standing", 26), ("From", 21), ("Through", 21), ("Basis", 22), ("Because", 64), ("Fact", 16))
RESTS = (
    ("Procedure", 58),
    ("Met, of watched", 28),
    ("Days", 14),
    ("Watched by", 22),
    ("Check", 24),
    ("Evidence on the day", 32),
)
SEEN = (
    ("Day", 20),
    ("Purpose, method", 38),
    ("Outcome", 31),
    ("Watched by", 28),
    ("Own word, and notes", 37),
    ("Fact", 16),
)
SIGNED = (("What", 21), ("Signed, or entered, by", 28), ("At", 29), ("Meaning", 56), ("Through", 20), ("Fact", 16))


def draw(sheet: Sheet, content: BinderContent) -> None:
    if content.short:
        _brief(sheet, content)
        return
    named = "; ".join(f"{number} {in_text(name)}" for number, name in enumerate(NAMES, start=1))
    sheet.part("people", "A record per person", f"The elements that a sign-off covered are given by number: {named}.")
    if not content.people:
        sheet.none("No person has a record in the period.")
    for n, person in enumerate(content.people):
        sheet.setting.tick(person.name)
        _record(sheet, content, person, f"person-{n}")


def _brief(sheet: Sheet, content: BinderContent) -> None:
    """A line each: what may be done alone, how often they were watched and by whom, and which topics they were taught."""
    sheet.part("people", "A record per person", fresh=False)
    rows = [
        (
            person.name,
            _good(person),
            _watched(person),
            "; ".join(sorted({seen.watched_by for seen in person.observations})) or "nobody",
            " ".join(map(_taught, person.taught)) or "no session in the period",
        )
        for person in content.people
    ]
    sheet.table(BRIEF, rows, none="No person has a record in the period.")


def _good(person: PersonRecord) -> str:
    """How many of the procedures and topics that the job asks for are good on the day of the binder."""
    asked = [row.may for row in person.alone if row.asked]
    return f"{sum(asked)} of {len(asked)}" if asked else "none needed"


def _watched(person: PersonRecord) -> str:
    days = sorted(seen.day for seen in person.observations)
    return f"{counted(len(days), 'time')}, last on {short(days[-1])}" if days else "not in the period"


def _taught(line: str) -> str:
    """The day and the codes of a session: 3 Mar 2026: T01 to T06. Whole, where no code is in it."""
    codes = codes_in_runs(CODE.findall(line))
    return f"{line.split(':', 1)[0]}: {codes}." if codes else line


def _record(sheet: Sheet, content: BinderContent, person: PersonRecord, key: str) -> None:
    sheet.running = ""
    sheet.head(person.name, key, ROOM)
    sheet.running = f"{person.name}, continued"
    sheet.term("People", person.name)
    sheet.para(person.job_roles, colour=GREY)
    if person.says:
        sheet.para(person.says, "B")
    _alone(sheet, person)
    _standing(sheet, content, person, key)
    _rests(sheet, person)
    _seen(sheet, person)
    _signed(sheet, person)
    _lines(sheet, "Knowledge checks", person.checks, "No knowledge check is recorded in the period.")
    _lines(sheet, "Taught", person.taught, "")
    _lines(sheet, "Put right later", person.corrections, "")


def _alone(sheet: Sheet, person: PersonRecord) -> None:
    if person.alone:
        sheet.label("On the day of this binder")
        rows = [(f"{row.procedure}{'' if row.asked else ', not needed'}", row.says) for row in person.alone]
        sheet.table(ALONE, rows)


def _standing(sheet: Sheet, content: BinderContent, person: PersonRecord, key: str) -> None:
    sheet.label("Standing")
    rows = [
        (s.procedure, s.state, short(s.first), day_or(s.through, "open"), s.basis, s.cause, s.fact)
        for s in person.spans
    ]
    none = "No standing in any procedure: nothing was watched, taught, signed or carried over."
    keys = [square(key, s.procedure) if s.holds_on(content.as_of) else "" for s in person.spans]
    sheet.table(SPANS, rows, kind="Procedures", shape=0, facts=True, grouped=True, keys=keys, none=none)


def square(person: str, procedure: str) -> str:
    """The key of the stretch that a square of the matrix shows. `procedure` begins with its code."""
    return f"{person}-{procedure.split(' ', 1)[0]}"


def _rests(sheet: Sheet, person: PersonRecord) -> None:
    if not person.evidence:
        return
    sheet.label("What it rests on")
    rows = [
        (f"{e.procedure}, version {e.version}", f"{e.met} of {e.of}", str(e.days), str(e.watchers), e.check, e.evidence)
        for e in person.evidence
    ]
    sheet.table(RESTS, rows)


def _seen(sheet: Sheet, person: PersonRecord) -> None:
    sheet.label("Observations")
    rows = [
        (
            f"{o.procedure}, version {o.version}{f', {o.unit}' if o.unit else ''}",
            done_on(o.day, o.written),
            f"{o.purpose}, {o.method}",
            ": ".join(filter(None, (o.outcome, o.counts))),
            o.watched_by,
            o.notes,
            o.fact,
        )
        for o in sorted(person.observations, key=attrgetter("procedure"))
    ]
    sheet.table(SEEN, rows, facts=True, grouped=True, none="Nobody watched this person at work in the period.")


def _signed(sheet: Sheet, person: PersonRecord) -> None:
    sheet.label("Signatures")
    usual = _usual(person)
    if usual:
        sheet.para(f"What a sign-off below means, in the words that were signed: “{usual}”", size=9.5)
    rows = [
        (
            f"{s.procedure}, version {s.version}" if s.version else s.procedure,
            s.kind,
            s.signer,
            done_on(s.at, s.written),
            " ".join(filter(None, (_meaning(s, usual), s.elements and f"Elements {s.elements}.", s.basis, s.ended))),
            _through(s),
            s.fact,
        )
        for s in sorted(person.sign_offs, key=attrgetter("procedure"))
    ]
    sheet.table(SIGNED, rows, facts=True, grouped=True, none="Nothing was signed for this person in the period.")


def _through(signed: SignOffRow) -> str:
    """The last good day; no end set where nothing ends it; none where no day was good."""
    return day_or(signed.through, "no day" if signed.ended else "no end set")


def _usual(person: PersonRecord) -> str:
    """The meaning that at least three sign-offs share; empty where none is shared so often."""
    said = Counter(s.meaning for s in person.sign_offs if s.kind == "sign-off").most_common(1)
    return said[0][0] if said and said[0][1] >= 3 else ""


def _meaning(signed: SignOffRow, usual: str) -> str:
    return "As above." if usual and signed.meaning == usual else signed.meaning


def _lines(sheet: Sheet, label: str, lines: list[str], none: str) -> None:
    if lines:
        sheet.label(label)
    for line in lines:
        sheet.para(line, size=9.5)
    if none and not lines:
        sheet.none(none)
    sheet.y -= 4
