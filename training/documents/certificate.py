"""The certificate: one page, a sentence, and what the sentence rests on."""

from collections.abc import Sequence
from datetime import date, timedelta
from io import BytesIO
from math import atan2, degrees
from typing import BinaryIO

from reportlab.lib.pagesizes import landscape
from reportlab.lib.units import mm

from clinic.rules.drawing import steel_rule, timeline

from .certificate_content import (
    BORROWED,
    LANGUAGES,
    NOT_A_LICENCE,
    CertificateContent,
    Element,
    paper_said,
    rows,
    sentence,
)
from .charts import DrawnDays, draw_bars, draw_rule
from .paper import (
    GREY,
    INK,
    SIZES,
    WHITE,
    clean,
    finish,
    fit_line,
    flow,
    new_canvas,
    punch,
    qr,
    rule,
    said,
    short,
    spaced,
    steel,
    text,
    width_of,
    wrap,
)
from .pen import Ink
from .shapes import draw_shape
from .tags import ROW_HEAD, Canvas, aside, figure, tagged

__all__ = ["CertificateContent", "Element", "build"]

# The bar shows this many days of a record that has no last day.
OPEN_DAYS = 365
ACROSS = Ink("#8a1c1c")
COPY = "Printed again. This is not the paper that was issued: what has changed since is printed across it."
NOT_LOOKED_AT = "no part of what was watched"
LOG = "Does the log still begin with the log of the day of issue?"
# From the largest type to the least that can still be read; at the least, a row is cut to so many lines and says so.
TYPE_SIZES, MOST_LINES = (11.5, 11, 10.5, 10, 9.5, 9, 8.5, 8, 7.5, 7, 6.5), 6

Row = tuple[str, tuple[str, ...]]


def build(content: CertificateContent, out: BinaryIO | None = None, across: str = "") -> bytes:
    """The PDF, also written to `out` where given. The same content gives the same bytes. `across`: what is printed over a
    certificate that is not in force any more; that makes it another paper than the one that was issued."""
    buffer = BytesIO()
    title = f"Certificate {content.number}: {content.person}, {content.procedure_code} {content.procedure_title}"
    canvas = new_canvas(buffer, title, sentence(content), content.paper, content.language, content.issued_at)
    width, height = landscape(SIZES[content.paper])
    canvas.setPageSize((width, height))
    _Page(canvas, content, width, height).draw()
    if across:
        strike(canvas, across, width, height)
    canvas.showPage()
    return finish(canvas, buffer, out)


def strike(c: Canvas, words: str, width: float, height: float) -> None:
    """The words from corner to corner, in outline, so that what lies under them can still be read."""
    long = (width**2 + height**2) ** 0.5 * 0.8
    size = min(54, 54 * long / width_of(words, "X", 54))
    c.saveState()
    c.translate(width / 2, height / 2)
    c.rotate(degrees(atan2(height, width)))
    drawn = c.beginText(-width_of(words, "X", size) / 2, -size / 3)
    drawn.setFont("X", size)
    drawn.setTextRenderMode(1)
    c.setStrokeColor(ACROSS)
    c.setLineWidth(1.1)
    drawn.textOut(clean(words))
    c.drawText(drawn)
    c.restoreState()
    c.setStrokeColor(INK)
    fit_line(c, width / 2, height - 8.5 * mm, COPY, width - 60 * mm, "B", 10, 7, side="centre", colour=ACROSS)
    c.read_first(2)


def laid_out(rows: Sequence[tuple[str, str]], width: float, room: float) -> tuple[float, list[Row]]:
    """The largest type at which all rows fit the room (points), with their lines; what cannot fit even so is counted."""
    for size in TYPE_SIZES:
        laid = [(label, spaced(words, width, "M", size)) for label, words in rows]
        if sum(row_height(lines, size) for _, lines in laid) <= room:
            return size, laid
    return size, [(label, _cut(lines)) for label, lines in laid]


def row_height(lines: Sequence[str], size: float) -> float:
    """In points, with the air between two rows."""
    return len(lines) * size * 1.22 + size * 0.62


def _cut(lines: tuple[str, ...]) -> tuple[str, ...]:
    if len(lines) <= MOST_LINES:
        return lines
    left = sum(len(line.split()) for line in lines[MOST_LINES - 1 :])
    return (*lines[: MOST_LINES - 1], f"… and {left} more words, which the check page shows in full")


class _Page:
    def __init__(self, canvas: Canvas, content: CertificateContent, width: float, height: float) -> None:
        self.c, self.k, self.width, self.height = canvas, content, width, height
        self.left, self.right = 28 * mm, width - 20 * mm
        self.mid = self.left + (self.right - self.left) * 0.56
        self.side = self.mid + 10 * mm

    def draw(self) -> None:
        punch(self.c, self.width, self.height)
        self.head()
        self.sentence()
        self.facts()
        self.days()
        self.elements(self.signature())
        self.check()
        self.foot()

    def head(self) -> None:
        c, k, top = self.c, self.k, self.height
        draw_shape(c, "house", self.left, top - 25 * mm, 9 * mm)
        room = self.right - self.left - 100 * mm
        fit_line(c, self.left + 15 * mm, top - 20.2 * mm, k.organisation, room, "X", 13)
        place = f"{k.site}, {k.address}" if k.address else k.site
        fit_line(c, self.left + 15 * mm, top - 24.8 * mm, place, room, "R", 10, colour=GREY)
        number, issued = (
            f"Certificate {k.number}",
            f"issued {said(k.issued_at)}, in {LANGUAGES.get(k.language, k.language)}",
        )
        fit_line(c, self.right, top - 20.2 * mm, number, 80 * mm, "X", 13, side="right")
        issued += f", replaces {k.replaces}" if k.replaces else ""
        fit_line(c, self.right, top - 24.8 * mm, issued, 80 * mm, "R", 10, colour=GREY, side="right")
        steel(c, self.left, top - 30 * mm, self.right - self.left)

    def sentence(self) -> None:
        room, words = self.right - self.left, sentence(self.k)
        with tagged(self.c, "H1"):
            fit_line(self.c, self.left, self.height - 48.5 * mm, self.k.person, room, "X", 40, 7)
        size = next((n for n in (23, 20, 17) if len(wrap(words, room, "M", n)) == 1), 14)
        size = next((n for n in (size, 12, 10) if len(wrap(words, room, "M", n)) <= 2), 8)
        flow(self.c, self.left, self.height - 59 * mm, words, room, "M", size, 1.1)

    def facts(self) -> None:
        top, indent = self.height - 73 * mm, 26 * mm
        size, laid = laid_out(rows(self.k), self.mid - self.left - indent, top - 56 * mm)
        self.c.tag("Table")
        for label, lines in laid:
            rule(self.c, self.left, top + size * 1.12, self.mid)
            self.c.tag("TR")
            with tagged(self.c, "TH", ROW_HEAD):
                text(self.c, self.left, top, label, "R", size, GREY)
            with tagged(self.c, "TD"):
                for n, line in enumerate(lines):
                    text(self.c, self.left + indent, top - n * size * 1.22, line, "M", size)
            self.c.untag()
            top -= row_height(lines, size)
        self.c.untag()

    def days(self) -> None:
        k, y, wide = self.k, 48 * mm, self.mid - self.left
        signed = date.fromisoformat(k.signed_at[:10])
        last = date.fromisoformat(k.through) if k.through else signed + timedelta(OPEN_DAYS)
        watched = [date.fromisoformat(day) for day in k.watched_on]
        first, after = min([*watched, signed]) - timedelta(20), last + timedelta(30)
        alone = [DrawnDays(signed, last + timedelta(1), "current")]
        bars = timeline(alone, first, after, last, watched)
        through = f"last good day {short(k.through)}" if k.through else "no last day set"
        dots = f"; watched on {', '.join(map(short, k.watched_on))}" if watched else ""
        says = f"Days on a line: may work alone from {short(k.signed_at[:10])}, {through}{dots}."
        with figure(self.c, says, (self.left, y - 16 * mm, self.left + wide, y + 1 * mm)):
            draw_rule(self.c, steel_rule(first, after, None), self.left, y, wide)
            draw_bars(self.c, bars, self.left, y - 14.5 * mm, wide, 6 * mm, INK)
            for bar in bars.bars:
                if bar.width * wide > 75:
                    text(self.c, self.left + bar.x * wide + 4, y - 12.6 * mm, "may work alone", "B", 10, WHITE)
        told = f"dots: days watched · signed {short(k.signed_at[:10])} · {through}"
        text(self.c, self.left, y - 18.6 * mm, told, "R", 9, GREY)

    def signature(self) -> float:
        """Printed name, day and time, and meaning; returns where the next part may begin."""
        c, k, x, y = self.c, self.k, self.side, self.height - 73 * mm
        room = self.right - x
        with tagged(c, "H2"):
            text(c, x, y, "Signed", "R", 11, GREY)
        fit_line(c, x, y - 7 * mm, k.signer, room, "B", 17, 6)
        when = f"{k.signer_role}, on {said(k.signed_at)} at {k.signed_at[11:16]}, {k.signed_how}."
        quoted = f" “{k.statement}”" if k.statement and k.statement != k.meaning else ""
        words = f"{when} Meaning: {k.meaning}{quoted}"
        size = next((n for n in (10.5, 10, 9, 8, 7, 6) if len(wrap(words, room, "I", n)) * n * 1.22 < 25 * mm), 5)
        return flow(c, x, y - 12.5 * mm, words, room, "I", size, 1.22)

    def elements(self, top: float) -> None:
        c, x, room = self.c, self.side, self.right - self.side
        y = min(top, self.height - 101 * mm) - 5 * mm
        rule(c, x, y + 4.8 * mm, self.right, heavy=True)
        with tagged(c, "H2"):
            text(c, x, y, "What was looked at, by the elements of competence assessment", "B", 10)
        c.tag("L")
        for each in self.k.elements:
            y -= 4.4 * mm
            if each.covered:  # what this procedure does not ask has no mark: it would look like one that was missed
                draw_shape(c, "current", x, y - 0.7 * mm, 3.5 * mm, "#14302b")
            words = f"{each.name}: {each.how if each.covered else NOT_LOOKED_AT}"
            with tagged(c, "LI"), tagged(c, "LBody"):
                fit_line(c, x + 5 * mm, y, words, room - 5 * mm, "R", 9, 5.5)
        c.untag()
        flow(c, x, y - 4.2 * mm, BORROWED, room, "I", 8, 1.15, GREY)

    def check(self) -> None:
        c, k, x, room = self.c, self.k, self.side + 27 * mm, self.right - self.side - 27 * mm
        if not k.check_url:  # made where nobody knows by which address others reach the register
            x, room = self.side, self.right - self.side
        with tagged(c, "H2"):
            text(c, x, 49.5 * mm, "Is it still good?", "B", 11)
        whom = "register" if k.check_url else "practice"
        y = flow(c, x, 45 * mm, f"Ask the {whom}: number {k.number}, code {k.check_code}.", room, "R", 9, 1.2)
        if k.check_url:
            says = f"Code square that leads to {k.check_url}"
            qr(c, k.check_url, self.side - 1.5 * mm, 28.5 * mm, 25 * mm, says)
            with tagged(c, "P"), tagged(c, "Link"):
                y = flow(c, x, y, k.check_url, room, "R", 8, 1.2)
                c.linkURL(k.check_url, (self.side, 28.5 * mm, self.right, 53 * mm), says=f"Check it at {k.check_url}")
        flow(c, x, y, f"It rests on seal {k.seal}.", room, "R", 8, 1.2, GREY)

    def foot(self) -> None:
        rule(self.c, self.left, 24.5 * mm, self.right, heavy=True)
        maker = f"Checked against {self.k.maker}. " if self.k.maker else ""
        words, room = paper_said(self.k) + maker + NOT_A_LICENCE, self.right - self.left
        size = next((n for n in (9.5, 9, 8.5, 8, 7) if len(wrap(words, room, "R", n)) * n * 1.25 < 34), 6)
        flow(self.c, self.left, 20 * mm, words, room, "R", size, 1.25, GREY)
        with aside(self.c, "Footer"):
            text(self.c, self.right, 8 * mm, "page 1 of 1", "B", 8, side="right")
        if self.k.log_check:
            fit_line(self.c, self.left, 6 * mm, f"{LOG}: {self.k.log_check}", room - 24 * mm, "R", 7, 4.5, GREY)
