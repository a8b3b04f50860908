"""The blank checklist, for the day the network is down: every step with boxes for its mark, and who watched."""

from dataclasses import dataclass
from io import BytesIO
from typing import Any, BinaryIO

from reportlab.lib.units import mm

from .binder.sheet import Blank, Sheet
from .content import Content
from .paper import GREY, finish, new_canvas, rule, text, wrap
from .shapes import draw_shape

MARKS = ("alone", "prompted", "helped", "not seen")
MORE = ("asked", "not needed")


@dataclass(frozen=True)
class BlankStep(Content):
    """A step; `when` is empty unless the step is only for some cases."""

    words: str
    critical: bool
    when: str


@dataclass(frozen=True)
class ChecklistContent(Content):
    """A version as a form to be filled in by hand and entered later."""

    paper: str
    language: str
    site: str
    code: str
    title: str
    version: int
    printed_at: str
    steps: list[BlankStep]


def build(content: ChecklistContent, out: BinaryIO | None = None) -> bytes:
    """The PDF; the same content gives the same bytes."""
    total = _draw(Blank(), content, 0)
    buffer = BytesIO()
    canvas = new_canvas(
        buffer, f"Blank checklist {content.code} {content.title}", content.site, content.paper, content.language
    )
    _draw(canvas, content, total)
    return finish(canvas, buffer, out)


def _draw(canvas: Any, k: ChecklistContent, total: int) -> int:
    sheet = Sheet(canvas, k.paper, f"{k.code} version {k.version} · {k.site} · printed {k.printed_at[:10]}", {}, total)
    sheet.part(
        "checklist",
        f"{k.code} {k.title}, version {k.version}",
        "For a day without the network. Enter it in the register as soon as it is back, and keep this paper.",
    )
    for line in ("Who", "Watched by", "Day, started, finished", "Equipment"):
        _blank_line(sheet, line)
    _choice(sheet, "For", ("practice", "assessment"))
    _choice(sheet, "How", ("real work", "practice piece", "drill", "records review", "what-if talk"))
    sheet.y -= 3 * mm
    for number, step in enumerate(k.steps, 1):
        _step(sheet, number, step)
    _choice(sheet, "The trainee says", ("ready to work alone", "want more practice", "I disagree"))
    _choice(sheet, "Stopped as unsafe", ("yes", "no"))
    _blank_line(sheet, "Signature of who watched, and time")
    sheet.end_page()
    return sheet.page


def _blank_line(sheet: Sheet, label: str) -> None:
    sheet.need(10 * mm)
    text(sheet.c, sheet.left, sheet.y, label, "R", 10, GREY)
    rule(sheet.c, sheet.left + 58 * mm, sheet.y - 1 * mm, sheet.right)
    sheet.y -= 8.5 * mm


def _choice(sheet: Sheet, label: str, words: tuple[str, ...]) -> None:
    sheet.need(8 * mm)
    text(sheet.c, sheet.left, sheet.y, label, "R", 10, GREY)
    for n, word in enumerate(words):
        _box(sheet, sheet.left + 32 * mm + n * 27.5 * mm, word)
    sheet.y -= 7 * mm


def _box(sheet: Sheet, x: float, word: str) -> None:
    draw_shape(sheet.c, "tick-box", x, sheet.y - 1 * mm, 5 * mm)
    text(sheet.c, x + 5.6 * mm, sheet.y, word, "R", 9)


def _step(sheet: Sheet, number: int, step: BlankStep) -> None:
    font, words = ("B" if step.critical else "R"), f"When {step.when}: {step.words}" if step.when else step.words
    sheet.need(13.65 * len(wrap(words, sheet.right - sheet.left - 13 * mm, font, 10.5)) + 12 * mm)
    if step.critical:
        draw_shape(sheet.c, "critical", sheet.left, sheet.y - 1 * mm, 4.2 * mm)
    text(sheet.c, sheet.left + 10.5 * mm, sheet.y, str(number), font, 10.5, side="right")
    sheet.para(words, font, indent=13 * mm)
    sheet.y -= 1 * mm
    for n, word in enumerate(MARKS + MORE if step.when else MARKS):
        _box(sheet, sheet.left + 13 * mm + n * 25 * mm, word)
    rule(sheet.c, sheet.left, sheet.y - 3 * mm, sheet.right)
    sheet.y -= 8 * mm
