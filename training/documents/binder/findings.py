"""What an inspector would object to, what ends it, and what was done."""

from .content import BinderContent
from .sheet import Sheet, day_or, short

COLUMNS = (
    ("Weight", 17),
    ("Finding", 45),
    ("First day", 21),
    ("What ends it", 30),
    ("What was done", 36),
    ("Last day", 21),
)

NOTHING = "No finding stood in the period: nothing that the register keeps was overdue, out of limits or unanswered."


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("findings", "Findings, with what was done", fresh=False)
    rows = [
        (f.weight, f.says, short(f.since), f.ends, f.done or "not yet answered", day_or(f.until, "it lasts"))
        for f in content.findings
    ]
    sheet.table(COLUMNS, rows, shape=0, none=NOTHING)
