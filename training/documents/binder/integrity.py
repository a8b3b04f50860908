"""How anybody can see whether the record was changed after it was made."""

from reportlab.lib.units import mm

from training.documents.paper import GREY, fit_line, flow, qr, text

from .content import BinderContent
from .sheet import Sheet

SQUARE = 26 * mm
ALWAYS = (
    "Each record is sealed together with the seal of the one before it, in the moment it is written. Whoever changes, "
    "removes or slips in a record breaks every seal after it. Whoever has the whole database could seal everything anew; "
    "that no longer fits a head of the log that somebody else holds, such as the one on this paper.",
    "A seal shows that a record has not been changed since it was made. It cannot show that what was written was true, nor "
    "that everything was written.",
)
HELD = 40 * mm


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("integrity", "Can this record have been changed?", fresh=False)
    for words in content.seals:
        sheet.para(words, "B")
    if not content.seals:
        sheet.none("No seal was taken with this binder.")
    for words in (*ALWAYS, *content.how_to_check):
        sheet.para(words)
    if content.register:
        sheet.head("How the register itself is kept")
        for words in content.register:
            sheet.para(words)
    if content.check_url:
        _check(sheet, content)
    if content.checkpoint:
        _head(sheet, content)


def _check(sheet: Sheet, content: BinderContent) -> None:
    sheet.need(SQUARE + 6 * mm)
    sheet.y -= SQUARE
    qr(sheet.c, content.check_url, sheet.left, sheet.y, SQUARE, f"Code square that leads to {content.check_url}")
    x = sheet.left + SQUARE + 5 * mm
    text(sheet.c, x, sheet.y + 18 * mm, f"Binder {content.number}, word {content.code}", "B", 11)
    text(sheet.c, x, sheet.y + 12.5 * mm, "This page says whether it is still the newest of its days.", "R", 10)
    text(sheet.c, x, sheet.y + 7 * mm, content.check_url, "R", 9, GREY)
    sheet.y -= 5 * mm


def _head(sheet: Sheet, content: BinderContent) -> None:
    """The signed checkpoint itself, to be kept: in letters, and in the square for whoever has a camera."""
    sheet.need(HELD + 24 * mm)
    sheet.y -= HELD
    qr(sheet.c, content.checkpoint, sheet.left, sheet.y, HELD, "Code square that holds the lines beside it")
    x, y = sheet.left + HELD + 4 * mm, sheet.y + HELD - 4 * mm
    room = sheet.right - x
    text(sheet.c, x, y, "The head of the log when this binder was made", "B", 11)
    for line in content.checkpoint.splitlines():
        y -= 4.2 * mm
        fit_line(sheet.c, x, y, line, room, "R", 8, 4)
    y = flow(
        sheet.c, x, y - 4.2 * mm, "The square holds the same lines. Public key of this log:", room, "R", 8, 1.3, GREY
    )
    fit_line(sheet.c, x, y, content.log_key, room, "R", 8, 4, GREY)
    sheet.y -= 5 * mm
    fit_line(sheet.c, sheet.left, sheet.y, content.log_check, sheet.right - sheet.left, "R", 8, 4.5)
    sheet.y -= 6 * mm
