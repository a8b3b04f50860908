"""The next ten working days of somebody who learns, on one page: what is shown, tried, watched and signed on which day."""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import BinaryIO

from reportlab.lib.units import mm

from .paper import GREY, SIZES, finish, fit_line, flow, new_canvas, page_foot, rule, steel, text, wrap
from .tags import ROW_HEAD, Canvas, tagged

LEAST, MOST = 5.5, 10.0  # points
FOOT = 22 * mm
BETWEEN = 1.8 * mm
DAY_WIDE = 34 * mm


@dataclass(frozen=True, slots=True)
class SheetDay:
    """One working day: its name in words, and a line for each procedure; one line says where nothing is."""

    day: str
    lines: Sequence[str]


@dataclass(frozen=True, slots=True)
class TeachingSheet:
    """`after`: what these days do not finish, each in a line."""

    paper: str
    language: str
    person: str
    place: str
    sentence: str
    says: str
    days: Sequence[SheetDay]
    after: Sequence[str]


def build(sheet: TeachingSheet, out: BinaryIO | None = None) -> bytes:
    """The PDF: one page, its type as large as fits."""
    buffer = BytesIO()
    c = new_canvas(buffer, f"Ten days of {sheet.person}", sheet.place, sheet.paper, sheet.language)
    width, top = SIZES[sheet.paper]
    left, right = 24 * mm, width - 16 * mm
    y = head(c, sheet, left, right, top)
    size = fitting(sheet, right - left, y - FOOT - MOST)
    c.tag("Table")
    shown = 0
    for day in rows(sheet):
        if y - tall(day, right - left, size) < FOOT:
            break
        y = draw_day(c, day, left, y, right, size)
        shown += 1
    c.untag()
    if shown < len(rows(sheet)):
        flow(c, left, y - size, "What follows stands on the page of these days.", right - left, "B", size)
    page_foot(c, left, right, f"{sheet.person} · {sheet.place} · a proposal: it signs nothing", 1, 1)
    c.showPage()
    return finish(c, buffer, out)


def head(c: Canvas, sheet: TeachingSheet, left: float, right: float, top: float) -> float:
    text(c, left, top - 20 * mm, sheet.place, "R", 10.5, GREY)
    with tagged(c, "H1"):
        fit_line(c, left, top - 30 * mm, sheet.person, right - left, "X", 24, 12)
    steel(c, left, top - 34 * mm, right - left)
    y = flow(c, left, top - 44 * mm, sheet.sentence, right - left, "B", 11)
    return flow(c, left, y - 1 * mm, sheet.says, right - left, "R", 8.5, colour=GREY) - 2 * mm


def rows(sheet: TeachingSheet) -> list[SheetDay]:
    return [*sheet.days, *([SheetDay("After these days", [" · ".join(sheet.after)])] if sheet.after else [])]


def fitting(sheet: TeachingSheet, width: float, room: float) -> float:
    """The largest type at which all of it stands on the page; never below the least."""
    size = MOST
    while size > LEAST and sum(tall(day, width, size) for day in rows(sheet)) > room:
        size -= 0.25
    return size


def tall(day: SheetDay, width: float, size: float) -> float:
    lines = sum(len(wrap(line, width - DAY_WIDE, "R", size)) for line in day.lines)
    return max(lines, 1) * size * 1.25 + 2 * BETWEEN


def draw_day(c: Canvas, day: SheetDay, left: float, y: float, right: float, size: float) -> float:
    rule(c, left, y, right)
    bottom = y - tall(day, right - left, size)
    y -= BETWEEN + size
    with tagged(c, "TR"):
        with tagged(c, "TH", ROW_HEAD):
            fit_line(c, left, y, day.day, DAY_WIDE - 3 * mm, "B", size)
        with tagged(c, "TD"):
            for line in day.lines:
                with tagged(c, "P"):
                    y = flow(c, left + DAY_WIDE, y, line, right - left - DAY_WIDE, "R", size, 1.25)
    return bottom
