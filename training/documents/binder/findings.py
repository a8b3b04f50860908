"""What an inspector would object to, what ends it, and what was done."""

from .content import BinderContent
from .sheet import Sheet, day_or, short

COLUMNS = (
    ("Weight", 16),
    ("Finding", 42),
    ("First day", 20),
    ("What ends it", 27),
    ("What was done", 32),
    ("Last day", 18),
    ("Record", 16),
)

NOTHING = "No finding stood in the period: nothing that the register keeps was overdue, out of limits or unanswered."


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("findings", "Findings, with what was done", fresh=False)
    rows = [
        (f.weight, f.says, short(f.since), f.ends, f.done or "not yet answered", day_or(f.until, "it lasts"), f.fact)
        for f in content.findings
    ]
    sheet.table(COLUMNS, rows, shape=0, facts=True, leads=True, none=NOTHING)
