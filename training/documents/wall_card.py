"""The wall card: at most fifteen lines of one procedure, readable from the bench, and how to stop."""

from dataclasses import dataclass
from io import BytesIO
from typing import BinaryIO

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from .content import Content
from .paper import GREY, INK, SIZES, WHITE, finish, fitted, flow, new_canvas, punch, rule, said, steel, text, wrap
from .shapes import draw_shape

MOST_LINES = 15


@dataclass(frozen=True)
class CardLine(Content):
    """One line, verb first."""

    words: str
    critical: bool


@dataclass(frozen=True)
class WallCardContent(Content):
    """What hangs beside the unit. `stop` says how to stop here, whom to call and whom to tell."""

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
    head = f"{k.code}, version {k.version} · {k.place} · on the wall since {said(k.since)}"
    text(c, left, height - 18 * mm, head, "R", fitted(head, right - left, "R", 10.5), GREY)
    text(c, left, height - 31 * mm, k.title, "X", fitted(k.title, right - left, "X", 38))
    steel(c, left, height - 36 * mm, right - left)
    _lines(c, k, left, right, height - 47 * mm)
    _stop(c, k, left, right)


def _lines(c: Canvas, k: WallCardContent, left: float, right: float, top: float) -> None:
    room, y = right - left - 19 * mm, top
    size = next((n for n in (16, 15, 14, 13, 12, 11, 10) if _deep(k, room, n) < top - 62 * mm), 9)
    for n, line in enumerate(k.lines, 1):
        font = "B" if line.critical else "R"
        if line.critical:
            draw_shape(c, "critical", left, y - 1.6 * mm, 6 * mm)
        text(c, left + 14.5 * mm, y, str(n), "X" if line.critical else "R", size + 1, side="right")
        y = flow(c, left + 19 * mm, y, line.words, room, font, size, 1.14)
        rule(c, left + 19 * mm, y + 2.7 * mm, right)
        y -= 3.4 * mm


def _deep(k: WallCardContent, room: float, size: float) -> float:
    return sum(len(wrap(line.words, room, "B", size)) * size * 1.14 + 3.4 * mm for line in k.lines)


def _stop(c: Canvas, k: WallCardContent, left: float, right: float) -> None:
    c.setFillColor(INK)
    c.rect(left, 24 * mm, right - left, 34 * mm, stroke=0, fill=1)
    draw_shape(c, "stop", left + 6 * mm, 34 * mm, 15 * mm, "#ffffff")
    text(c, left + 28 * mm, 47 * mm, "Anybody may stop it.", "X", 21, WHITE)
    size = next((n for n in (13.5, 12, 11, 10) if len(wrap(k.stop, right - left - 34 * mm, "M", n)) * n * 1.2 < 52), 9)
    flow(c, left + 28 * mm, 39.5 * mm, k.stop, right - left - 34 * mm, "M", size, 1.2, WHITE)
    draw_shape(c, "critical", left, 16 * mm, 4.2 * mm)
    text(c, left + 6 * mm, 17.2 * mm, "done wrong, somebody can be hurt or the unit wrecked", "R", 9.5, GREY)
    maker = f"{k.maker} and local rules come first."
    text(
        c,
        right,
        12.5 * mm,
        maker[:1].upper() + maker[1:],
        "R",
        fitted(maker, right - left, "R", 9.5),
        GREY,
        side="right",
    )
