"""Who may observe and sign what, what that starts from, and who signed whom."""

from .content import BinderContent, SignedRow
from .sheet import Sheet, day_or, done_on

HELD = (
    ("Name", 34),
    ("May observe and sign", 40),
    ("From", 21),
    ("Until", 21),
    ("Granted by", 28),
    ("Rests on", 30),
)
SIGNED = (("Signer", 40), ("Person", 40), ("Procedures", 75), ("Signatures", 18))

BRIEF = (("Signer", 80), ("For so many people", 50), ("Signatures", 43))


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("authority", "Authority, and who signed whom", fresh=False)
    rows = [
        (a.name, a.covers, done_on(a.since, a.written), day_or(a.until, "open"), a.granted_by, a.rests_on)
        for a in content.authorities
    ]
    sheet.table(HELD, rows, kind="People", none="No authority was held in the period: nobody could observe or sign.")
    if sheet.full(120):
        return
    sheet.head("Who signed whom")
    if content.short:
        sheet.table(BRIEF, by_signer(content.signed), none="Nobody signed in the period.")
        return
    signed = [(s.signer, s.person, s.procedures, str(s.count)) for s in content.signed]
    sheet.table(SIGNED, signed, none="Nobody signed in the period.")


def by_signer(signed: list[SignedRow]) -> list[tuple[str, str, str]]:
    """Each signer once, with how many people and signatures."""
    rows: dict[str, list[SignedRow]] = {}
    for row in signed:
        rows.setdefault(row.signer, []).append(row)
    return [
        (signer, str(len({row.person for row in given})), str(sum(row.count for row in given)))
        for signer, given in rows.items()
    ]
