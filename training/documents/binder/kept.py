"""What is not in the register, where it is, and who keeps it."""

from .content import BinderContent
from .sheet import Sheet, day_or

COLUMNS = (("What", 60), ("Where", 50), ("Keeper", 40), ("Last review", 24))


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("kept", "Kept elsewhere", fresh=False)
    rows = [
        (k.what, k.place or "not noted", k.keeper or "not noted", day_or(k.reviewed, "not noted")) for k in content.kept
    ]
    sheet.table(COLUMNS, rows, none="Nothing is noted as kept elsewhere.")
