"""The certificate: one page, a sentence, and what the sentence rests on."""

from dataclasses import dataclass
from datetime import date, timedelta
from io import BytesIO
from typing import BinaryIO

from reportlab.lib.pagesizes import landscape
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from .content import Content
from .paper import (
    GREY,
    INK,
    SIZES,
    WHITE,
    finish,
    fitted,
    flow,
    new_canvas,
    punch,
    qr,
    rule,
    said,
    short,
    steel,
    steel_days,
    text,
    wrap,
)
from .shapes import draw_shape

NOT_A_LICENCE = (
    "This is no licence. It says what was seen here, on this unit, to this version. The maker’s instructions, local rules "
    "and the judgement of licensed staff come first. It ends early if the version changes and asks to be watched again, if "
    "a procedure it rests on ends, or when the work is not done for too long. The check page says whether it still holds."
)
LANGUAGES = {"en-GB": "English", "en-US": "English", "en": "English"}
BORROWED = (
    "The six elements are borrowed from US rules for clinical laboratories (42 CFR 493.1413(b)(8)); CLIA does not apply to "
    "a milling unit."
)


@dataclass(frozen=True)
class Element(Content):
    """One of the six elements of competence assessment: its name, whether it was covered, and how."""

    name: str
    covered: bool
    how: str


@dataclass(frozen=True)
class CertificateContent(Content):
    """Everything a certificate says. Days are ISO; `through` is the last good day, empty where it has none."""

    number: str
    paper: str
    language: str
    organisation: str
    site: str
    address: str
    person: str
    procedure_code: str
    procedure_title: str
    version: int
    in_force_from: str
    unit: str
    through: str
    issued_at: str
    basis: str
    lowered: str
    performances: int
    performances_clean: int
    methods: str
    check: str
    watched_on: list[str]
    watched_by: list[str]
    rests_on: list[str]
    elements: list[Element]
    signer: str
    signer_role: str
    signed_at: str
    signed_how: str
    meaning: str
    check_code: str
    check_url: str
    seal: str
    replaces: str
    maker: str


def build(content: CertificateContent, out: BinaryIO | None = None) -> bytes:
    """The PDF, also written to `out` where given. The same content gives the same bytes."""
    buffer = BytesIO()
    title = f"Certificate {content.number}: {content.person}, {content.procedure_code} {content.procedure_title}"
    canvas = new_canvas(buffer, title, _sentence(content), content.paper, content.language)
    width, height = landscape(SIZES[content.paper])
    canvas.setPageSize((width, height))
    _Page(canvas, content, width, height).draw()
    canvas.showPage()
    return finish(canvas, buffer, out)


def _sentence(c: CertificateContent) -> str:
    unit = f", on {c.unit}" if c.unit else ""
    through = f", through {said(c.through)}" if c.through else ""
    return f"may work alone at {c.procedure_title[:1].lower()}{c.procedure_title[1:]}{unit}{through}."


def performances(content: CertificateContent) -> str:
    """Counts, never a percentage: few performances support no claim of reliability."""
    if not content.performances:
        return "no performance was observed for this one; see the basis"
    noun = "performance" if content.performances == 1 else "performances"
    return f"{content.performances_clean} of {content.performances} observed {noun} met every critical step"


def squeezed(words: str, width: float, most: int) -> tuple[float, tuple[str, ...]]:
    """The largest size at which the words take at most so many lines, and these lines; what cannot fit is counted."""
    for size in (10, 9, 8, 7, 6):
        lines = wrap(words, width, "M", size)
        if len(lines) <= most:
            return size, lines
    left = sum(len(line.split()) for line in lines[most - 1 :])
    return 6, (*lines[: most - 1], f"… and {left} more words, which the check page shows in full")


class _Page:
    def __init__(self, canvas: Canvas, content: CertificateContent, width: float, height: float) -> None:
        self.c, self.k, self.width, self.height = canvas, content, width, height
        self.left, self.right = 28 * mm, width - 20 * mm
        self.mid = self.left + (self.right - self.left) * 0.56

    def draw(self) -> None:
        punch(self.c, self.height)
        self.head()
        self.sentence()
        self.facts()
        self.bar()
        self.signature()
        self.elements()
        self.foot()

    def head(self) -> None:
        c, k, top = self.c, self.k, self.height
        draw_shape(c, "house", self.left, top - 25 * mm, 9 * mm)
        room = self.right - self.left - 75 * mm
        text(c, self.left + 15 * mm, top - 20.2 * mm, k.organisation, "X", fitted(k.organisation, room, "X", 13))
        place = f"{k.site}, {k.address}" if k.address else k.site
        text(c, self.left + 15 * mm, top - 24.8 * mm, place, "R", fitted(place, room, "R", 10), GREY)
        text(c, self.right, top - 20.2 * mm, f"Certificate {k.number}", "X", 13, side="right")
        issued = (
            f"issued {said(k.issued_at)}"
            + (f", replaces {k.replaces}" if k.replaces else "")
            + f", in {LANGUAGES.get(k.language, k.language)}"
        )
        text(c, self.right, top - 24.8 * mm, issued, "R", 10, GREY, side="right")
        steel(c, self.left, top - 30 * mm, self.right - self.left)

    def sentence(self) -> None:
        room = self.right - self.left
        text(self.c, self.left, self.height - 48 * mm, self.k.person, "X", fitted(self.k.person, room, "X", 38, 11))
        words = _sentence(self.k)
        size = next((n for n in (22, 19, 16, 13) if len(wrap(words, room, "M", n)) == 1), 13)
        flow(self.c, self.left, self.height - 58.5 * mm, words, room, "M", size, 1.1)

    def facts(self) -> None:
        y = self.height - 70 * mm
        for label, words in self.rows():
            rule(self.c, self.left, y + 4.4 * mm, self.mid)
            size, lines = squeezed(words, self.mid - self.left - 24 * mm, 3)
            text(self.c, self.left, y, label, "R", 10, GREY)
            for line in lines:
                text(self.c, self.left + 24 * mm, y, line, "M", size)
                y -= 4.3 * mm
            y -= 1.6 * mm

    def rows(self) -> list[tuple[str, str]]:
        k = self.k
        days = ", ".join(short(day) for day in k.watched_on)
        version = f"version {k.version}, in force since {said(k.in_force_from)}"
        rows = [
            ("What", f"{k.procedure_code} {k.procedure_title}, {version}"),
            ("Seen", f"{performances(k)}; {k.methods}" if k.methods else performances(k)),
            ("Watched by", " · ".join(k.watched_by) or "nobody; see the basis"),
            ("On", days or "no day"),
            ("Check", k.check),
            ("Rests on", ", ".join(k.rests_on) or "no other procedure"),
            ("Basis", f"{k.basis}; {k.lowered or 'no number was lowered'}"),
        ]
        return [(label, words) for label, words in rows if words]

    def bar(self) -> None:
        k, y, wide = self.k, 48 * mm, self.mid - self.left
        signed = date.fromisoformat(k.signed_at[:10])
        last = date.fromisoformat(k.through) if k.through else signed + timedelta(365)
        watched = [date.fromisoformat(day) for day in k.watched_on]
        begin, end = min([*watched, signed]) - timedelta(20), last + timedelta(30)

        def at(day: date) -> float:
            return self.left + wide * (day - begin).days / (end - begin).days

        steel_days(self.c, self.left, y, wide, begin, end, 6 * mm)
        self.c.setFillColor(INK)
        self.c.rect(at(signed), y - 13 * mm, at(last) - at(signed), 5.4 * mm, stroke=0, fill=1)
        if at(last) - at(signed) > 80:
            text(self.c, at(signed) + 4, y - 11.4 * mm, "may work alone", "B", 9, WHITE)
        self.c.setFillColor(INK)
        for day in watched:
            self.c.circle(at(day), y - 12 * mm, 0.9 * mm, stroke=0, fill=1)
        rule(self.c, self.left, y - 13 * mm, self.mid, heavy=True)
        dots = f"dots: days watched · signed {short(k.signed_at[:10])}"
        through = f" · last good day {short(k.through)}" if k.through else " · no last day set"
        text(self.c, self.left, y - 17 * mm, dots + through, "R", 8.5, GREY)

    def signature(self) -> None:
        c, k, x, y = self.c, self.k, self.mid + 10 * mm, self.height - 70 * mm
        room = self.right - x
        text(c, x, y, "Signed", "R", 10, GREY)
        text(c, x, y - 6.5 * mm, k.signer, "B", fitted(k.signer, room, "B", 16, 8))
        at = f"{k.signer_role}, on {said(k.signed_at)} at {k.signed_at[11:16]}, {k.signed_how}. Meaning: {k.meaning}"
        deep = 17 * mm
        size = next((n for n in (10, 9, 8, 7, 6) if len(wrap(at, room, "I", n)) * n * 1.22 < deep), 5)
        flow(c, x, y - 11.5 * mm, at, room, "I", size, 1.22)

    def elements(self) -> None:
        c, x, y = self.c, self.mid + 10 * mm, self.height - 104 * mm
        rule(c, x, y + 4.6 * mm, self.right, heavy=True)
        covered = sum(each.covered for each in self.k.elements)
        text(c, x, y, f"Elements of competence assessment: {covered} of {len(self.k.elements)} covered", "B", 9.5)
        for each in self.k.elements:
            y -= 4.3 * mm
            draw_shape(c, "current" if each.covered else "untrained", x, y - 0.6 * mm, 3.4 * mm, "#14302b")
            words = f"{each.name}: {each.how if each.covered else 'not covered'}"
            text(c, x + 5 * mm, y, words, "R", fitted(words, self.right - x - 5 * mm, "R", 8.5, 6))
        flow(c, x, y - 4.4 * mm, BORROWED, self.right - x, "I", 7.5, 1.15, GREY)

    def foot(self) -> None:
        c, k, x = self.c, self.k, self.mid + 10 * mm
        qr(c, k.check_url, x - 2 * mm, 27.5 * mm, 25 * mm)
        text(c, x + 26 * mm, 47.5 * mm, "Is it still good?", "B", 10.5)
        asks = f"Ask the register: number {k.number}, code {k.check_code}. {k.check_url} Rests on seal {k.seal}."
        flow(c, x + 26 * mm, 43 * mm, asks, self.right - x - 26 * mm, "R", 8, 1.2)
        rule(c, self.left, 24.5 * mm, self.right, heavy=True)
        maker = f"Checked against {k.maker}. " if k.maker else ""
        y = flow(c, self.left, 20 * mm, maker + NOT_A_LICENCE, self.right - self.left, "R", 8.5, 1.2, GREY)
        text(c, self.right, min(y, 9 * mm), "page 1 of 1", "B", 8, side="right")
