"""The blank checklist, for the day the network is down: every step with boxes for its mark, and who watched."""

from dataclasses import dataclass, field
from io import BytesIO
from typing import BinaryIO

from reportlab.lib.units import mm

from clinic.rules.words import begun
from training.rules.sheets import sheet_words

from .content import Content
from .paper import (
    GREY,
    SIZES,
    finish,
    fit_line,
    flow,
    new_canvas,
    page_foot,
    punch,
    rule,
    short,
    steel,
    text,
    width_of,
    wrap,
)
from .shapes import draw_shape
from .tags import COLUMN_HEAD, ROW_HEAD, Canvas, aside, stands_for, tagged

MARKS = ("alone", "prompted", "helped", "wrong", "not seen", "asked", "not needed")
ONLY_WITH_A_WHEN = ("asked", "not needed")
METHODS = ("real work", "practice piece", "drill", "records review", "what-if talk")
KEY = (
    "alone: right, with no help · prompted: one word or sign · helped: shown, or partly done · wrong: left out, or done "
    "wrong · not seen: nobody was looking · asked: said and showed it · not needed: the case did not arise"
)
BOX, MARK_WIDE = 5.4 * mm, 11 * mm
TO_TICK = "box to tick"


@dataclass(frozen=True)
class BlankStep(Content):
    """A step; `when` is empty unless the step is only for some cases, without the word “when”."""

    words: str
    critical: bool
    when: str
    caution: str = ""


@dataclass(frozen=True)
class ChecklistContent(Content):
    """A version as a form to be filled in by hand and entered later. `place` is empty where any unit may be meant."""

    paper: str
    language: str
    site: str
    code: str
    title: str
    version: int
    printed_at: str
    steps: list[BlankStep]
    place: str = ""
    maker: str = ""
    hazards: list[str] = field(default_factory=list)
    protection: list[str] = field(default_factory=list)
    sheets: list[int] = field(default_factory=list)  # numbers of the sheets; empty for one that is only to be looked at


def build(content: ChecklistContent, out: BinaryIO | None = None) -> bytes:
    """The PDF; the same content gives the same bytes."""
    total = _Form(_canvas(BytesIO(), content), content, 0).draw()
    buffer = BytesIO()
    canvas = _canvas(buffer, content)
    for number in content.sheets or [0]:
        _Form(canvas, content, total, number).draw()
    return finish(canvas, buffer, out)


def _canvas(buffer: BytesIO, k: ChecklistContent) -> Canvas:
    return new_canvas(buffer, f"Blank checklist {k.code} {k.title}", k.site, k.paper, k.language, k.printed_at)


class _Form:
    """One sheet: runs down its pages. `total` is what the foot says; a first pass finds it. `number`: of the sheet."""

    def __init__(self, canvas: Canvas, content: ChecklistContent, total: int, number: int = 0) -> None:
        self.c, self.k, self.total, self.page = canvas, content, total, 0
        self.sheet = sheet_words(number) if number else ""
        self.width, self.height = SIZES[content.paper]
        self.left, self.right, self.bottom = 24 * mm, self.width - 14 * mm, 20 * mm
        self.boxes = self.right - MARK_WIDE * len(MARKS)

    def draw(self) -> int:
        """Returns how many pages it took."""
        self.open()
        self.head()
        self.who()
        self.cautions()
        self.key()
        self.c.tag("Table")
        with tagged(self.c, "THead"):
            self.columns()
        with tagged(self.c, "TBody"):
            for number, step in enumerate(self.k.steps, 1):
                self.step(number, step)
        self.c.untag()
        self.end()
        self.close()
        return self.page

    def open(self) -> None:
        self.page += 1
        self.y = self.height - 18 * mm
        punch(self.c, self.width, self.height)

    def close(self) -> None:
        sheet = f"{self.sheet} · " if self.sheet else ""
        says = f"{sheet}{self.k.code}, version {self.k.version} · {self.k.site} · printed {short(self.k.printed_at)}"
        page_foot(self.c, self.left, self.right, says, self.page, self.total)
        self.c.showPage()

    def need(self, room: float, columns: bool = False) -> None:
        if self.y - room < self.bottom:
            self.close()
            self.open()
            if columns:
                with aside(self.c, "Header"):
                    self.key()
                    self.columns()

    def head(self) -> None:
        k, room = self.k, self.right - self.left
        about = f"Blank checklist · {k.code}, version {k.version} · {k.place or k.site}"
        number = begun(self.sheet)
        room_left = room - (width_of(number, "X", 13) + 6 * mm if number else 0)
        fit_line(self.c, self.left, self.y, about, room_left, "R", 10.5, colour=GREY)
        text(self.c, self.right, self.y, number, "X", 13, side="right")
        with tagged(self.c, "H1"):
            self.y = flow(self.c, self.left, self.y - 9 * mm, k.title, room, "X", 24, 1.1)
        steel(self.c, self.left, self.y + 4 * mm, room)
        words = (
            "For a day without the network. Enter it in the register by its number as soon as it is back, and keep it."
        )
        self.y = flow(self.c, self.left, self.y - 5 * mm, words, room, "M", 11) - 3 * mm

    def who(self) -> None:
        half = (self.right - self.left) / 2
        for pair in (("Who", "Watched by"), ("Day, from, to", "Unit"), ("Checked who it is, how", "Language used")):
            for n, label in enumerate(pair):
                self.line(self.left + n * half, half - 4 * mm, label)
            self.y -= 9 * mm
        self.choice("For", ("practice", "assessment"))
        self.choice("How", METHODS)

    def line(self, x: float, width: float, label: str) -> None:
        text(self.c, x, self.y, label, "R", 10, GREY)
        rule(self.c, x + 34 * mm, self.y - 1 * mm, x + width)

    def choice(self, label: str, words: tuple[str, ...]) -> None:
        self.need(8 * mm)
        self.c.paragraph()
        text(self.c, self.left, self.y, f"{label} ", "R", 10, GREY)
        x = self.left + 34 * mm
        for word in words:
            with stands_for(self.c, f"{TO_TICK}: "):
                draw_shape(self.c, "tick-box", x, self.y - 1.5 * mm, BOX)
            text(self.c, x + 6 * mm, self.y, f"{word} ", "R", 9.5)
            x += 11 * mm + width_of(word, "R", 9.5)
        self.c.untag()
        self.y -= 6.8 * mm

    def cautions(self) -> None:
        for label, items in (("Hazards", self.k.hazards), ("Wear", self.k.protection)):
            if items:
                room = self.right - self.left - 34 * mm
                with tagged(self.c, "P"):
                    text(self.c, self.left, self.y, f"{label} ", "R", 10, GREY)
                    self.y = flow(self.c, self.left + 34 * mm, self.y, "; ".join(items), room, "M", 10, 1.22) - 1 * mm
        self.y -= 2 * mm

    def key(self) -> None:
        self.need(40 * mm)
        flow(self.c, self.left, self.y, KEY, self.boxes - self.left - 6 * mm, "I", 8, 1.15, GREY)
        self.y -= 9 * mm

    def columns(self) -> None:
        """The heads of the boxes, over the line that opens the steps."""
        self.c.tag("TR")
        with tagged(self.c, "TH", COLUMN_HEAD), stands_for(self.c, "Step"):
            rule(self.c, self.left, self.y - 2 * mm, self.right, heavy=True)
        for n, mark in enumerate(MARKS):
            middle = self.boxes + (n + 0.5) * MARK_WIDE
            draw_shape(self.c, mark, middle - 2.6 * mm, self.y + 3.6 * mm, 5.2 * mm, "#14302b")
            with tagged(self.c, "TH", COLUMN_HEAD):
                text(self.c, middle, self.y, mark, "M", 7.4, side="centre")
        self.c.untag()
        self.y -= 6.8 * mm

    def step(self, number: int, step: BlankStep) -> None:
        font, x = ("B" if step.critical else "R"), self.left + 13.5 * mm
        room, words = self.boxes - x - 3 * mm, f"When {step.when}: {step.words}" if step.when else step.words
        deep = len(wrap(words, room, font, 10.5)) * 12.8 + (
            len(wrap(step.caution, room, "I", 9.5)) * 11.6 if step.caution else 0
        )
        self.need(deep + 4 * mm, columns=True)
        self.c.tag("TR")
        self.c.tag("TH", ROW_HEAD)
        if step.critical:
            with stands_for(self.c, "Critical: "):
                draw_shape(self.c, "critical", self.left, self.y - 1 * mm, 4.4 * mm)
        text(self.c, self.left + 10.5 * mm, self.y, f"{number} ", "X" if step.critical else "R", 10.5, side="right")
        end = flow(self.c, x, self.y, f"{words} " if step.caution else words, room, font, 10.5, 12.8 / 10.5)
        if step.caution:
            end = flow(self.c, x, end, step.caution, room, "I", 9.5, 11.6 / 9.5)
        self.c.untag()
        for n, mark in enumerate(MARKS):
            self.c.tag("TD")
            if step.when or mark not in ONLY_WITH_A_WHEN:
                with stands_for(self.c, TO_TICK):
                    draw_shape(self.c, "tick-box", self.boxes + (n + 0.5) * MARK_WIDE - BOX / 2, self.y - 1.7 * mm, BOX)
            self.c.untag()
        self.c.untag()
        rule(self.c, self.left, end + 2.2 * mm, self.right)
        self.y = end - 2.2 * mm

    def end(self) -> None:
        self.need(54 * mm)
        self.y -= 2 * mm
        self.choice("The trainee says", ("ready to work alone", "want more practice", "I disagree"))
        self.choice("Stopped as unsafe", ("yes", "no"))
        for label in ("Notes", "", "Signature, time"):
            text(self.c, self.left, self.y, label, "R", 10, GREY)
            rule(self.c, self.left + 34 * mm, self.y - 1 * mm, self.right)
            self.y -= 8 * mm
        self.small_print()

    def small_print(self) -> None:
        """What the mark of a critical step means, and what comes before this paper."""
        draw_shape(self.c, "critical", self.left, self.y - 1 * mm, 4.2 * mm)
        key = "critical: done wrong, somebody can be hurt or the unit wrecked"
        text(self.c, self.left + 6 * mm, self.y, key, "R", 9.5, GREY)
        first = f"{self.k.maker or 'The maker’s instructions'} and local rules come first. This paper signs nobody off."
        words, width = begun(first), self.right - self.left
        flow(self.c, self.left, self.y - 5 * mm, words, width, "R", 9.5, 1.2, GREY)
