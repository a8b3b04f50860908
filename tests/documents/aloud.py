"""The words of a binder as its frozen content has them, in order and whole: each part asked what it says, without a page."""

from collections.abc import Iterable, Sequence
from typing import Any
from unittest import mock

from training.documents.binder import build as binder
from training.documents.binder import sheet as sheets
from training.documents.binder.content import BinderContent
from training.documents.binder.sheet import Blank, Setting, Sheet
from training.documents.paper import clean

# Parts that hand the sheet whole sentences and tables, and lay nothing out by themselves.
PLAIN = (
    "scope", "roster", "people", "taught", "sources", "authority", "water", "spores", "drivers", "tools", "jobs", "events",
    "findings", "kept",
)  # fmt: skip


class Aloud(Sheet):
    """Takes what a part says, and draws none of it."""

    def __init__(self, setting: Setting) -> None:
        super().__init__(Blank(), setting)
        self.says: list[str] = []
        self.new_page()

    def title(self, words: str, size: float = 21) -> None:
        self.says.append(words)

    def head(self, words: str, key: str = "", room: float = 0) -> None:
        self.says.append(words)

    def label(self, words: str) -> None:
        self.says.append(words)

    def para(self, words: str, *args: Any, **named: Any) -> None:
        self.says.append(words)

    def table(self, columns: Sequence[tuple[str, float]], rows: Iterable[Sequence[str]], **how: Any) -> None:
        rows = list(rows)
        if not rows:
            self.none(how.get("none", "Nothing is recorded."))
            return
        self.says += [title for title, _ in columns]
        above = ""
        for row in rows:
            cells = [*row[:-1], row[-1][:8]] if how.get("facts") else list(row)
            if how.get("grouped"):
                self.says += [] if cells[0] == above else [cells[0]]
                above = cells.pop(0)
            self.says += cells


def read_aloud(content: BinderContent) -> dict[str, list[str]]:
    """Of each plain part its words; page numbers are those of the binder itself."""
    said = {}
    known: dict[str, int] = {}
    real = Sheet.__init__

    def spy(self: Sheet, canvas: Any, setting: Setting, *more: Any) -> None:
        known.update(setting.known)
        real(self, canvas, setting, *more)

    with mock.patch.object(sheets.Sheet, "__init__", spy):
        binder.build(content)
    for key in PLAIN:
        sheet = Aloud(Setting(content.paper, "", content.fact_url, known))
        binder.BY_KEY[key].draw(sheet, content)
        said[key] = [" ".join(clean(words).split()) for words in sheet.says if words.strip()]
    return said
