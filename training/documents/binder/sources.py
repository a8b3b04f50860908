"""What the texts rest on, each source once: a text names it by its row."""

from .content import BinderContent
from .sheet import Sheet

COLUMNS = (("Row", 14), ("What it says", 106), ("How sure that is", 50))


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("sources", "Sources of the texts", fresh=False)
    rows = [(source.row, source.says, source.means) for source in content.sources]
    sheet.table(COLUMNS, rows, none="No text names a source.")
