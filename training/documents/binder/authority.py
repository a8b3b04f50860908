"""Who may observe and sign what, what that starts from, and who signed whom."""

from .content import BinderContent
from .sheet import Sheet, day_or, short

HELD = (
    ("Name", 34),
    ("May observe and sign", 40),
    ("From", 21),
    ("Until", 21),
    ("Granted by", 28),
    ("Rests on", 30),
)
SIGNED = (("Signer", 40), ("Person", 40), ("Procedures", 75), ("Signatures", 18))


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("authority", "Authority, and who signed whom", fresh=content.short)
    rows = [
        (a.name, a.covers, short(a.since), day_or(a.until, "open"), a.granted_by, a.rests_on)
        for a in content.authorities
    ]
    sheet.table(HELD, rows, kind="People", none="No authority was held in the period.")
    if sheet.full(120):
        return
    sheet.head("Who signed whom")
    signed = [(s.signer, s.person, s.procedures, str(s.count)) for s in content.signed]
    sheet.table(SIGNED, signed, none="Nobody signed in the period.")
