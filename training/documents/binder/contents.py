"""The parts, what each holds, and the page it begins on."""

from collections.abc import Sequence

from reportlab.lib.units import mm

from training.documents.paper import GREY, rule, text, wrap
from training.documents.tags import tagged

from .sheet import Sheet

COUNTED = 62 * mm


def draw(sheet: Sheet, parts: Sequence[tuple[str, str, str]], left_out: Sequence[str]) -> None:
    """Parts are (key, title, what it holds); the pages come from the pass before."""
    sheet.part("contents", "Contents", fresh=False)
    with tagged(sheet.c, "TOC"):
        for key, title, holds in parts:
            _line(sheet, key, title, holds)
    if left_out:
        sheet.y -= 4 * mm
        names = "; ".join(left_out)
        sheet.para(f"This short form leaves out: {names}. The full binder holds them.", "I", 9.5, colour=GREY)


def _line(sheet: Sheet, key: str, title: str, holds: str) -> None:
    sheet.need(8 * mm)
    with tagged(sheet.c, "TOCI"), tagged(sheet.c, "Reference"), tagged(sheet.c, "Link"):
        text(sheet.c, sheet.left, sheet.y, f"{title} ", "B", 11)
        line = wrap(holds, sheet.right - sheet.left - COUNTED - 16 * mm, "R", 10)[0]
        text(sheet.c, sheet.left + COUNTED, sheet.y, f"{line} ", "R", 10, GREY)
        text(sheet.c, sheet.right, sheet.y, str(sheet.known.get(key, "")), "X", 11, side="right")
        sheet.jump(key, sheet.left, sheet.y - 2 * mm, sheet.right, sheet.y + 4.5 * mm)
    rule(sheet.c, sheet.left, sheet.y - 2.2 * mm, sheet.right)
    sheet.y -= 7 * mm
