"""The wall card: at most fifteen lines of one procedure, readable from the bench, and how to stop."""

from collections.abc import Mapping
from dataclasses import dataclass
from io import BytesIO
from typing import BinaryIO

from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader

from clinic.rules.words import begun

from .content import Content
from .paper import GREY, INK, SIZES, WHITE, finish, fit_line, flow, new_canvas, punch, rule, said, steel, text, wrap
from .shapes import draw_shape
from .tags import DECIMAL, Canvas, figure, stands_for, tagged

MOST_LINES = 15
# Points; and the air below a line, as a share of its type.
SIZES_OF_LINES, AIR = (20, 19, 18, 17, 16, 15, 14, 13, 12, 11, 10, 9, 8), 0.6


WIDE, HIGH = 25 * mm, 17 * mm  # what a picture beside a line takes, with the air around it
MAKER = "maker wins"
LEAST_BESIDE = 10  # points: with smaller lines the pictures stay away
NO_PICTURES: Mapping[int, bytes] = {}


@dataclass(frozen=True)
class CardLine(Content):
    """One line, verb first."""

    words: str
    critical: bool
    maker: bool = False  # the maker’s instructions win over it, said under its number


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


def build(content: WallCardContent, out: BinaryIO | None = None, pictures: Mapping[int, bytes] = NO_PICTURES) -> bytes:
    """The PDF of one page. `pictures`: JPEGs by the number of the line that they stand beside, from 0, as many as leave
    lines that can still be read from the bench. Raises ValueError for more lines than can be read from the bench."""
    if len(content.lines) > MOST_LINES:
        raise ValueError(f"A wall card holds {MOST_LINES} lines; this one has {len(content.lines)}. Leave some out.")
    buffer = BytesIO()
    canvas = new_canvas(
        buffer, f"Wall card {content.code} {content.title}", content.place, content.paper, content.language
    )
    _draw(canvas, content, pictures)
    canvas.showPage()
    return finish(canvas, buffer, out)


def _draw(c: Canvas, k: WallCardContent, pictures: Mapping[int, bytes]) -> None:
    width, height = SIZES[k.paper]
    left, right = 24 * mm, width - 14 * mm
    punch(c, width, height)
    head = f"{k.code}, version {k.version} · {k.place} · in force since {said(k.since)}"
    fit_line(c, left, height - 18 * mm, head, right - left, "R", 10.5, colour=GREY)
    size = next((n for n in (38, 34, 30, 26) if len(wrap(k.title, right - left, "X", n)) == 1), 24)
    with tagged(c, "H1"):
        y = flow(c, left, height - 20 * mm - size * 0.8, k.title, right - left, "X", size, 1.05)
    steel(c, left, y + size - 3 * mm, right - left)
    _lines(c, k, left, right, y + size - 14 * mm, pictures)
    _stop(c, k, left, right)
    _foot(c, k, left, right)


def _lines(
    c: Canvas, k: WallCardContent, left: float, right: float, y: float, pictures: Mapping[int, bytes]
) -> None:  # fmt: skip
    """As large as the page allows, so that they can be read from the bench. Pictures only where the lines stay large."""
    indent, deep = 19 * mm, y - 62 * mm
    pictures = those_that_fit(k, right - left - indent - WIDE, deep, pictures)
    room = right - left - indent - (WIDE if pictures else 0)
    size = fitting(k, room, deep, pictures) or SIZES_OF_LINES[-1]
    c.tag("L", DECIMAL)
    for n, line in enumerate(k.lines):
        font = "B" if line.critical else "R"
        c.tag("LI")
        with tagged(c, "Lbl"):
            if line.critical:
                with stands_for(c, "Critical: "):
                    draw_shape(c, "critical", left, y - 1.6 * mm, 6 * mm)
            text(c, left + 14.5 * mm, y, str(n + 1), "X" if line.critical else "R", size + 1, side="right")
        with tagged(c, "LBody"):
            if line.maker:
                text(c, left + 14.5 * mm, y - 7.5, MAKER, "R", 6.5, GREY, side="right")
            flow(c, left + indent, y, line.words, room, font, size, 1.14)
            if n in pictures:
                draw_picture(c, pictures[n], right, y + size * 0.8, f"Photo of line {n + 1}")
        c.untag()
        y -= _tall(line, room, size, n in pictures)
        rule(c, left + indent, y + size * (AIR + 0.5), right)
    c.untag()


def those_that_fit(
    k: WallCardContent, room: float, deep: float, pictures: Mapping[int, bytes]
) -> Mapping[int, bytes]:  # fmt: skip
    """As many of the pictures, from the first line on, as leave the lines large enough."""
    for count in range(len(pictures), 0, -1):
        some = dict(sorted(pictures.items())[:count])
        if (fitting(k, room, deep, some) or 0) >= LEAST_BESIDE:
            return some
    return NO_PICTURES


def fitting(k: WallCardContent, room: float, deep: float, pictures: Mapping[int, bytes]) -> float | None:
    """The largest type at which all lines stand in the depth; None where none does."""
    return next(
        (
            size
            for size in SIZES_OF_LINES
            if sum(_tall(line, room, size, n in pictures) for n, line in enumerate(k.lines)) < deep
        ),
        None,
    )


def _tall(line: CardLine, room: float, size: float, pictured: bool = False) -> float:
    words = len(wrap(line.words, room, "B", size)) * size * 1.14 + size * AIR
    return max(words, HIGH) if pictured else words


def draw_picture(c: Canvas, picture: bytes, right: float, top: float, says: str) -> None:
    """In the right column, its shape kept."""
    wide, high = WIDE - 2 * mm, HIGH - 3 * mm
    x, y = right - wide, top - high
    with figure(c, says, (x, y, right, top)):
        c.drawImage(ImageReader(BytesIO(picture)), x, y, wide, high, preserveAspectRatio=True, anchor="ne")


def _stop(c: Canvas, k: WallCardContent, left: float, right: float) -> None:
    x, room = left + 28 * mm, right - left - 34 * mm
    c.setFillColor(INK)
    c.rect(left, 24 * mm, right - left, 34 * mm, stroke=0, fill=1)
    draw_shape(c, "stop", left + 6 * mm, 34 * mm, 15 * mm, "#ffffff")
    with tagged(c, "H2"):
        text(c, x, 47 * mm, "Anybody may stop it.", "X", 21, WHITE)
    size = next((n for n in (14, 13, 12, 11, 10, 9) if len(wrap(k.stop, room, "M", n)) * n * 1.2 < 52), 8)
    flow(c, x, 39.5 * mm, k.stop, room, "M", size, 1.2, WHITE)


def _foot(c: Canvas, k: WallCardContent, left: float, right: float) -> None:
    draw_shape(c, "critical", left, 16 * mm, 4.2 * mm)
    text(c, left + 6 * mm, 17.2 * mm, "done wrong, somebody can be hurt or the unit wrecked", "R", 9.5, GREY)
    mark = f", most of all where a line says “{MAKER}”" if any(line.maker for line in k.lines) else ""
    maker = f"{k.maker or 'the maker’s instructions'} and local rules come first{mark}."
    fit_line(c, right, 17.2 * mm, k.more, 84 * mm, "B", 9.5, side="right")
    fit_line(c, left, 12 * mm, begun(maker), right - left, "R", 9.5, colour=GREY)
