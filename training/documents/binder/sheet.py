"""A pen that runs down the pages: heads, paragraphs and tables, page numbers, bookmarks and where each word stands."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from reportlab.lib.pagesizes import landscape
from reportlab.lib.units import mm

from training.documents.paper import GREY, INK, SIZES, clean, punch, rule, steel, text, wrap
from training.documents.shapes import draw_shape

Cell = str
NO_LIMIT = 10**9


class Blank:
    """A canvas that draws nothing: the first pass only counts pages."""

    def __getattr__(self, name: str) -> Callable[..., Any]:
        return self._nothing

    def _nothing(self, *args: object, **kwargs: object) -> "Blank":
        return self


class Sheet:
    """Draws downward from the top margin. `pages` and `total` come from the pass before."""

    def __init__(self, canvas: Any, paper: str, says: str, pages: dict[str, int], total: int) -> None:
        self.c, self.paper, self.says, self.known, self.total = canvas, paper, says, pages, total
        self.page, self.limit, self.open = 0, NO_LIMIT, False
        self.pages: dict[str, int] = {}
        self.terms: dict[str, dict[str, set[int]]] = defaultdict(lambda: defaultdict(set))

    def new_page(self, wide: bool = False) -> None:
        self.end_page()
        size = SIZES[self.paper]
        self.width, self.height = landscape(size) if wide else size
        self.c.setPageSize((self.width, self.height))
        self.left, self.right = 24 * mm, self.width - 16 * mm
        self.page, self.wide, self.open = self.page + 1, wide, True
        self.y, self.bottom = self.height - 20 * mm, 19 * mm
        punch(self.c, self.height)

    def end_page(self) -> None:
        if not self.open:
            return
        rule(self.c, self.left, 15 * mm, self.right)
        text(self.c, self.left, 11 * mm, self.says, "R", 8, GREY)
        text(self.c, self.right, 11 * mm, f"page {self.page} of {self.total}", "B", 8, side="right")
        self.c.showPage()
        self.open = False

    def part(self, key: str, title: str, says: str = "", wide: bool = False) -> None:
        """Opens a section on a new page, with its bookmark."""
        self.new_page(wide)
        self.bookmark(key, title, 0)
        for line in wrap(title, self.right - self.left, "X", 21):
            text(self.c, self.left, self.y, line, "X", 21)
            self.y -= 8 * mm
        steel(self.c, self.left, self.y + 3 * mm, self.right - self.left)
        self.y -= 6 * mm
        if says:
            self.para(says)

    def bookmark(self, key: str, title: str, level: int) -> None:
        self.pages[key] = self.page
        self.c.bookmarkPage(key)
        self.c.addOutlineEntry(clean(title), key, level=level, closed=level == 0)

    def term(self, kind: str, word: str) -> None:
        """Notes for the index that the word stands on this page."""
        self.terms[kind][word].add(self.page)

    def need(self, room: float) -> None:
        if self.y - room < self.bottom:
            self.new_page(self.wide)

    def head(self, words: str, key: str = "") -> None:
        self.need(26 * mm)
        self.y -= 3 * mm
        rule(self.c, self.left, self.y + 6 * mm, self.right, heavy=True)
        if key:
            self.bookmark(key, words, 1)
        for line in wrap(words, self.right - self.left, "X", 14):
            text(self.c, self.left, self.y, line, "X", 14)
            self.y -= 6.4 * mm

    def label(self, words: str) -> None:
        """A small head that stays with the table below it."""
        self.need(32 * mm)
        self.para(words, "B")

    def para(self, words: str, font: str = "R", size: float = 10.5, indent: float = 0, colour: Any = INK) -> None:
        for line in wrap(words, self.right - self.left - indent, font, size):
            self.need(size * 1.3)
            text(self.c, self.left + indent, self.y, line, font, size, colour)
            self.y -= size * 1.3
        self.y -= 1.2 * mm

    def table(
        self,
        columns: Sequence[tuple[str, float]],
        rows: Iterable[Sequence[Cell]],
        kind: str = "",
        term: int = 0,
        shape: int = -1,
    ) -> None:
        """Columns are (title, share of the width). Cells of column `shape` are drawn with their shape before the word."""
        whole = sum(share for _, share in columns)
        widths = [(self.right - self.left) * share / whole for _, share in columns]
        rows = list(rows)
        self._titles(columns, widths)
        for done, row in enumerate(rows):
            if not self._row(columns, widths, row, kind, term, shape):
                note = f"The short form stops here: {done} of {len(rows)} lines. The full binder holds them all."
                text(self.c, self.left, self.bottom + 1 * mm, note, "I", 9, GREY)
                return
        if not rows:
            self.para("Nothing is recorded.", "I", colour=GREY)
        self.y -= 3 * mm

    def _titles(self, columns: Sequence[tuple[str, float]], widths: Sequence[float]) -> None:
        self.need(16 * mm)
        x = self.left
        for (title, _), width in zip(columns, widths, strict=True):
            text(self.c, x, self.y, title, "M", 9, GREY)
            x += width
        rule(self.c, self.left, self.y - 1.5 * mm, self.right, heavy=True)
        self.y -= 5.6 * mm

    def _row(
        self,
        columns: Sequence[tuple[str, float]],
        widths: Sequence[float],
        row: Sequence[Cell],
        kind: str,
        term: int,
        shape: int,
    ) -> bool:
        cells = [
            wrap(cell, width - 2 * mm - (5 * mm if i == shape else 0), "R", 9.5)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines, start, lead = max(map(len, cells)), 0, 4.2 * mm
        while start < lines:
            room = int((self.y - self.bottom - 2 * mm) / lead)
            # A row moves whole to the next page unless it is longer than half of one.
            if room < min(lines - start, 25):
                if self.page >= self.limit:
                    return False
                self.new_page(self.wide)
                self._titles(columns, widths)
                continue
            if kind and start == 0:
                self.term(kind, row[term])
            self._lines(
                widths,
                [cell[start : start + room] for cell in cells],
                lead,
                row[shape] if shape >= 0 and not start else "",
                shape,
            )
            start += room
        rule(self.c, self.left, self.y + 2.9 * mm, self.right)
        self.y -= 1.2 * mm
        return True

    def _lines(
        self, widths: Sequence[float], cells: Sequence[Sequence[str]], lead: float, state: str, shape: int
    ) -> None:
        x, deep = self.left, max(map(len, cells))
        for i, (cell, width) in enumerate(zip(cells, widths, strict=True)):
            inset = 5 * mm if i == shape else 0
            if i == shape and state:
                draw_shape(self.c, state, x, self.y - 0.8 * mm, 4 * mm)
            for n, line in enumerate(cell):
                if line:
                    text(self.c, x + inset, self.y - n * lead, line, "R", 9.5)
            x += width
        self.y -= deep * lead
