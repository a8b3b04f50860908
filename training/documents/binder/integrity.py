"""How anybody can see whether the record was changed after it was made."""

from reportlab.lib.units import mm

from training.documents.paper import GREY, qr, text

from .content import BinderContent
from .sheet import Sheet

SQUARE = 26 * mm
ALWAYS = (
    "Each record is sealed together with the seal of the one before it, in the moment it is written. Whoever changes, "
    "removes or slips in a record breaks every seal after it.",
    "A seal shows that a record has not been changed since it was made. It cannot show that what was written was true.",
)


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("integrity", "Can this record have been changed?", fresh=False)
    for words in content.seals:
        sheet.para(words, "B")
    if not content.seals:
        sheet.none("No seal was taken with this binder.")
    for words in (*ALWAYS, *content.how_to_check):
        sheet.para(words)
    if content.check_url:
        _check(sheet, content)


def _check(sheet: Sheet, content: BinderContent) -> None:
    sheet.need(SQUARE + 6 * mm)
    sheet.y -= SQUARE
    qr(sheet.c, content.check_url, sheet.left, sheet.y, SQUARE)
    x = sheet.left + SQUARE + 5 * mm
    text(sheet.c, x, sheet.y + 18 * mm, f"Binder {content.number}, word {content.code}", "B", 11)
    text(sheet.c, x, sheet.y + 12.5 * mm, "This page says whether it is still the newest of its days.", "R", 10)
    text(sheet.c, x, sheet.y + 7 * mm, content.check_url, "R", 9, GREY)
    sheet.y -= 5 * mm
