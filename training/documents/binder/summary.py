"""The first page: a sentence about what the register keeps, the days, three weights, and what an inspector asks."""

from reportlab.lib.units import mm

from training.documents.charts import draw_tracks
from training.documents.paper import GREY, said, text, wrap
from training.documents.shapes import draw_shape

from .content import BinderContent
from .sheet import Sheet

SPELT = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
WEIGHTS = (("stop", "work must not go on"), ("fix", "by a day"), ("note", "only to be explained"))


def counted(number: int, one: str, many: str) -> str:
    """No things, one thing, two things, 13 things."""
    return f"{SPELT[number] if number < len(SPELT) else number} {one if number == 1 else many}"


def sentence(content: BinderContent) -> str:
    """Speaks only of what the register keeps; never says what an inspection would find."""
    stop, fix = (
        counted(content.stop, "thing must stop", "things must stop"),
        counted(content.fix, "is to be fixed", "are to be fixed"),
    )
    note = counted(content.note, "is to be explained", "are to be explained")
    elsewhere = counted(content.kept_elsewhere, "more is kept elsewhere", "more are kept elsewhere")
    words = f"{stop}, {fix}, {note}; {elsewhere}."
    return words[0].upper() + words[1:]


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.new_page()
    sheet.bookmark("summary", "Summary", 0)
    form = "short form" if content.short else "in full"
    period = f"Binder, {form} · {content.organisation}, {content.site} · {said(content.first)} to {said(content.last)}"
    for line in wrap(period, sheet.right - sheet.left, "R", 10):
        text(sheet.c, sheet.left, sheet.y, line, "R", 10, GREY)
        sheet.y -= 4.6 * mm
    sheet.y -= 5 * mm
    sheet.para(sentence(content), "X", 21)
    sheet.para(
        f"As of {said(content.as_of)}, as known by {said(content.known_by)} at {content.known_by[11:16]}.", colour=GREY
    )
    sheet.y = draw_tracks(
        sheet.c, sheet.left, sheet.y, sheet.right - sheet.left, content.first, content.last, content.late[:8]
    )
    sheet.y -= 6 * mm
    sheet.para(content.late_says, "I", 9, colour=GREY)
    _weights(sheet, content)
    _questions(sheet, content)


def _weights(sheet: Sheet, content: BinderContent) -> None:
    sheet.y -= 8 * mm
    for i, (weight, words) in enumerate(WEIGHTS):
        x = sheet.left + i * (sheet.right - sheet.left) / 3
        draw_shape(sheet.c, weight, x, sheet.y - 3 * mm, 11 * mm)
        text(sheet.c, x + 14 * mm, sheet.y + 2.6 * mm, f"{getattr(content, weight)} {weight}", "X", 15)
        text(sheet.c, x + 14 * mm, sheet.y - 2 * mm, words, "R", 10, GREY)
    sheet.y -= 14 * mm


def _questions(sheet: Sheet, content: BinderContent) -> None:
    sheet.head("What an inspector asks", "asks")
    rows = [(q.ask, q.answer, _where(sheet, q.section, q.kept)) for q in content.questions]
    sheet.table((("Question", 60), ("Answer", 85), ("Page, or where kept", 30)), rows)


def _where(sheet: Sheet, section: str, kept: str) -> str:
    return f"page {sheet.known[section]}" if section in sheet.known else kept or "full binder"
