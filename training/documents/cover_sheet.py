"""Coverage on paper, for the wall of the office: each duty over the coming days, drawn from the fractions of the page."""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import BinaryIO

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm

from training.rules.drawing import CoverPicture

from .paper import GREY, INK, LATE, SIZES, STEEL, WHITE, finish, flow, new_canvas, page_foot, rule, text, wrap
from .shapes import COLOUR
from .tags import Canvas, figure, tagged

HIGH = 11 * mm  # a column as tall as the most people
SAYS = 9.0  # points
BETWEEN = 8 * mm
KEY = "Columns: people at work who may do it alone. Hollow: missing to the least. Line: the least. Bar below: nobody can sign."


@dataclass(frozen=True, slots=True)
class CoverLine:
    """One duty: its name, what the page says of it, and the picture."""

    duty: str
    says: str
    picture: CoverPicture


@dataclass(frozen=True, slots=True)
class CoverSheet:
    """Days in words. `sentence` is the first one of the page."""

    paper: str
    language: str
    site: str
    days: str
    sentence: str
    lines: Sequence[CoverLine]


def build(sheet: CoverSheet, out: BinaryIO | None = None) -> bytes:
    """The PDF, on as many pages as it takes."""
    buffer = BytesIO()
    c = new_canvas(buffer, f"Coverage, {sheet.site}", sheet.days, sheet.paper, sheet.language)
    width, top = SIZES[sheet.paper]
    left, right = 24 * mm, width - 16 * mm
    pages = paged(sheet.lines, right - left, top)
    for number, lines in enumerate(pages, start=1):
        y = head(c, sheet, left, right, top) if number == 1 else top - 20 * mm
        for line in lines:
            y = draw_line(c, line, left, y, right - left)
        page_foot(c, left, right, f"{sheet.site} · {sheet.days} · if nothing more is recorded", number, len(pages))
        c.showPage()
    return finish(c, buffer, out)


def paged(lines: Sequence[CoverLine], width: float, top: float) -> list[list[CoverLine]]:
    """Duties by page; none is cut in two. One empty page where there is no duty."""
    pages: list[list[CoverLine]] = [[]]
    room = top - 82 * mm
    for line in lines:
        needs = tall(line, width)
        if needs > room and pages[-1]:
            pages.append([])
            room = top - 40 * mm
        pages[-1].append(line)
        room -= needs
    return pages


def tall(line: CoverLine, width: float) -> float:
    return 5 * mm + len(wrap(line.says, width, "R", SAYS)) * SAYS * 1.3 + 4 * mm + HIGH + BETWEEN


def head(c: Canvas, sheet: CoverSheet, left: float, right: float, top: float) -> float:
    text(c, left, top - 22 * mm, f"{sheet.site} · {sheet.days}", "R", 10.5, GREY)
    with tagged(c, "H1"):
        y = flow(c, left, top - 31 * mm, sheet.sentence, right - left, "X", 18, 1.15)
    rule(c, left, y + 2 * mm, right, heavy=True)
    return flow(c, left, y - 4 * mm, KEY, right - left, "R", 8.5, colour=GREY) - 4 * mm


def draw_line(c: Canvas, line: CoverLine, x: float, y: float, width: float) -> float:
    """Name, sentence, picture; returns where the next one starts."""
    with tagged(c, "H2"):
        text(c, x, y, line.duty, "B", 11)
    y = flow(c, x, y - 5 * mm, line.says, width, "R", SAYS, colour=GREY)
    floor = y - 3 * mm - HIGH
    with figure(c, cover_said(line.picture), (x, floor - 8, x + width, floor + HIGH + 8)):
        draw_cover(c, line.picture, x, floor, width)
    return floor - BETWEEN


def cover_said(picture: CoverPicture) -> str:
    """The columns as numbers, from left to right."""
    counts = ", ".join(f"{each.count}{' (too few)' if each.missing else ''}" for each in picture.columns)
    unsigned = "; below it stretches in which nobody can sign" if picture.unsigned else ""
    return f"People at work who may do it alone, from left to right: {counts or 'no column'}{unsigned}."


def draw_cover(c: Canvas, picture: CoverPicture, x: float, floor: float, width: float) -> None:
    """The picture of the page: columns on the floor, what is missing hollow above them, stretches nobody signs below."""
    for tick in picture.ticks:
        c.setFillColor(STEEL)
        c.rect(x + width * tick.x, floor, 0.5, HIGH, stroke=0, fill=1)
        text(c, x + width * tick.x + 2, floor - 8, tick.words, "M", 7, GREY)
    for column in picture.columns:
        at, wide = x + width * column.x, max(width * column.width - 0.6, 0.3)
        c.setFillColor(HexColor(COLOUR["current"]) if not column.missing else HexColor(COLOUR["lapsed"]))
        c.rect(at, floor, wide, HIGH * column.height, stroke=0, fill=1)
        if column.missing:
            c.setStrokeColor(LATE)
            c.setFillColor(WHITE)
            c.setLineWidth(0.6)
            c.rect(at, floor + HIGH * column.height, wide, HIGH * column.missing, stroke=1, fill=1)
        if column.width > 0.03:
            over = floor + HIGH * (column.height + column.missing) + 2
            text(c, at + wide / 2, over, str(column.count), "M", 7, side="centre")
    c.setStrokeColor(INK)
    c.setLineWidth(0.5)
    c.setDash(2, 2)
    c.line(x, floor + HIGH * picture.least, x + width, floor + HIGH * picture.least)
    c.setDash()
    rule(c, x, floor, x + width, heavy=True)
    c.setFillColor(LATE)
    for begin, wide in picture.unsigned:
        c.rect(x + width * begin, floor - 2.6, width * wide, 1.8, stroke=0, fill=1)
