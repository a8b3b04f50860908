"""The wall card: at most fifteen lines of one procedure, readable from the bench, and how to stop."""

from dataclasses import dataclass
from io import BytesIO
from typing import BinaryIO

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from clinic.rules.words import begun

from .content import Content
from .paper import GREY, INK, SIZES, WHITE, finish, fit_line, flow, new_canvas, punch, rule, said, steel, text, wrap
from .shapes import draw_shape

MOST_LINES = 15
# Points; and the air below a line, as a share of its type.
SIZES_OF_LINES, AIR = (20, 19, 18, 17, 16, 15, 14, 13, 12, 11, 10, 9, 8), 0.6


@dataclass(frozen=True)
class CardLine(Content):
    """One line, verb first."""

    words: str
    critical: bool


@dataclass(frozen=True)
class WallCardContent(Content):
    """What hangs beside the unit. `stop` says how to stop here, whom to call and whom to tell; `more` names what the card
    leaves out, where it does."""

    paper: str
    language: str
    code: str
    title: str
    version: int
    place: str
    since: str
    lines: list[CardLine]
    stop: str
    maker: str
    more: str = ""


def build(content: WallCardContent, out: BinaryIO | None = None) -> bytes:
    """The PDF of one page. Raises ValueError for more lines than can be read from the bench."""
    if len(content.lines) > MOST_LINES:
        raise ValueError(f"A wall card holds {MOST_LINES} lines; this one has {len(content.lines)}. Leave some out.")
    buffer = BytesIO()
    canvas = new_canvas(
        buffer, f"Wall card {content.code} {content.title}", content.place, content.paper, content.language
    )
    _draw(canvas, content)
    canvas.showPage()
    return finish(canvas, buffer, out)


def _draw(c: Canvas, k: WallCardContent) -> None:
    width, height = SIZES[k.paper]
    left, right = 24 * mm, width - 14 * mm
    punch(c, height)
    head = f"{k.code}, version {k.version} · {k.place} · in force since {said(k.since)}"
    fit_line(c, left, height - 18 * mm, head, right - left, "R", 10.5, colour=GREY)
    size = next((n for n in (38, 34, 30, 26) if len(wrap(k.title, right - left, "X", n)) == 1), 24)
    y = flow(c, left, height - 20 * mm - size * 0.8, k.title, right - left, "X", size, 1.05)
    steel(c, left, y + size - 3 * mm, right - left)
    _lines(c, k, left, right, y + size - 14 * mm)
    _stop(c, k, left, right)
    _foot(c, k, left, right)


def _lines(c: Canvas, k: WallCardContent, left: float, right: float, y: float) -> None:
    """As large as the page allows, so that they can be read from the bench."""
    indent, floor = 19 * mm, 62 * mm
    size = next((n for n in SIZES_OF_LINES if _deep(k, right - left - indent, n) < y - floor), SIZES_OF_LINES[-1])
    for n, line in enumerate(k.lines, 1):
        font = "B" if line.critical else "R"
        if line.critical:
            draw_shape(c, "critical", left, y - 1.6 * mm, 6 * mm)
        text(c, left + 14.5 * mm, y, str(n), "X" if line.critical else "R", size + 1, side="right")
        end = flow(c, left + indent, y, line.words, right - left - indent, font, size, 1.14)
        rule(c, left + indent, end + size * 0.5, right)
        y = end - size * AIR


def _deep(k: WallCardContent, room: float, size: float) -> float:
    return sum(len(wrap(line.words, room, "B", size)) * size * 1.14 + size * AIR for line in k.lines)


def _stop(c: Canvas, k: WallCardContent, left: float, right: float) -> None:
    x, room = left + 28 * mm, right - left - 34 * mm
    c.setFillColor(INK)
    c.rect(left, 24 * mm, right - left, 34 * mm, stroke=0, fill=1)
    draw_shape(c, "stop", left + 6 * mm, 34 * mm, 15 * mm, "#ffffff")
    text(c, x, 47 * mm, "Anybody may stop it.", "X", 21, WHITE)
    size = next((n for n in (14, 13, 12, 11, 10, 9) if len(wrap(k.stop, room, "M", n)) * n * 1.2 < 52), 8)
    flow(c, x, 39.5 * mm, k.stop, room, "M", size, 1.2, WHITE)


def _foot(c: Canvas, k: WallCardContent, left: float, right: float) -> None:
    draw_shape(c, "critical", left, 16 * mm, 4.2 * mm)
    text(c, left + 6 * mm, 17.2 * mm, "done wrong, somebody can be hurt or the unit wrecked", "R", 9.5, GREY)
    maker = f"{k.maker or 'the maker’s instructions'} and local rules come first."
    fit_line(c, right, 17.2 * mm, k.more, 84 * mm, "B", 9.5, side="right")
    fit_line(c, left, 12 * mm, begun(maker), right - left, "R", 9.5, colour=GREY)
