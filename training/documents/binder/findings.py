"""What an inspector would object to, what ends it, and what was done."""

from .content import BinderContent
from .sheet import Sheet, day_or, short

COLUMNS = (("Weight", 19), ("Finding", 56), ("Since", 20), ("What ends it", 36), ("What was done", 38), ("Ended", 20))


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("findings", "Findings, with what was done", fresh=False)
    rows = [
        (f.weight, f.says, short(f.since), f.ends, f.done or "not yet answered", day_or(f.until, "open"))
        for f in content.findings
    ]
    sheet.table(COLUMNS, rows, shape=0, none="No finding was open in the period.")
