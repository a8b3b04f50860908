"""A pen that runs down the pages: heads, paragraphs, page numbers, bookmarks and where each word stands."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from reportlab.lib.pagesizes import landscape
from reportlab.lib.units import mm

from training.documents.memo import Memo
from training.documents.paper import GREY, INK, SIZES, clean, fit_line, punch, rule, spaced, steel, text, text_as
from training.documents.paper import short as short_of
from training.documents.shapes import draw_shape
from training.documents.tags import aside, tagged

from .grid import Grid, columns_of, draw_grid
from .names import NOBODY, Names

NO_LIMIT = 10**9
# A stamped shape is drawn this large, with room for strokes around it.
GRID, EDGE = 24, 2
# A part opens on the page before it while this share of the paper is still free; in a short form, while this little is.
FREE, FREE_SHORT = 0.45, 0.3
LABEL = 7 * mm
NOTHING = nullcontext()
Terms = dict[str, dict[str, set[int]]]  # of each kind each word, and the pages on which it stands

# The same days come up in thousands of rows.
short = lru_cache(maxsize=16384)(short_of)


def day_or(day: str, otherwise: str) -> str:
    """2 Dec 2026, or the words where there is no day."""
    return short(day) if day else otherwise


def done_on(day: str, written: str) -> str:
    """2 Dec 2026; where it was written later: 2 Dec 2026, written on 5 Dec 2026."""
    return f"{short(day)}, written on {short(written)}" if written else short(day)


class Blank:
    """A canvas that draws nothing: the first pass only counts pages."""

    def __getattr__(self, name: str) -> Callable[..., Any]:
        return self._nothing

    def _nothing(self, *args: object, **kwargs: object) -> "Blank":
        return self

    tag = untag = row = rule = write = write_cells = bookmarkHorizontal = (
        _nothing  # what is asked most, found without a search
    )


@dataclass(frozen=True, slots=True)
class Setting:
    """What every page of one binder shares. `known` and `total`: pages by key, and how many, from the pass before. `names`:
    whose pages the index lists. `wanted`: ids of the records to whose lines other lines lead.
    `parts`: keys of the sections of this binder."""

    paper: str
    foot: str
    fact_url: str = ""
    known: dict[str, int] = field(default_factory=dict)
    total: int = 0
    tick: Callable[[str], None] = lambda says: None
    names: Names = NOBODY
    wanted: frozenset[str] = frozenset()
    parts: tuple[str, ...] = ()


class Sheet:
    """Draws downward from the top margin of one page after another."""

    def __init__(self, canvas: Any, setting: Setting, terms: Terms | None = None) -> None:
        """`terms`: what the pass before noted for the index, so that this one need not."""
        self.c, self.setting, self.known = canvas, setting, setting.known
        self.dry = isinstance(canvas, Blank)
        self.page, self.limit, self.open, self.wide, self.running = 0, NO_LIMIT, False, False, ""
        self.pages: dict[str, int] = {}
        self.stamps = Memo(self._stamp)
        self.waiting, self.level, self.tables = "", 0, 0
        self.noting = terms is None
        self.terms: Terms = defaultdict(lambda: defaultdict(set)) if terms is None else terms

    def new_page(self, wide: bool = False) -> None:
        self.end_page()
        size = SIZES[self.setting.paper]
        self.width, self.height = landscape(size) if wide else size
        self.c.setPageSize((self.width, self.height))
        self.left, self.right = 24 * mm, self.width - 16 * mm
        self.page, self.wide, self.open = self.page + 1, wide, True
        self.y, self.bottom = self.height - 20 * mm, 19 * mm
        punch(self.c, self.width, self.height)
        if self.running:
            top = self.height - 12 * mm
            with aside(self.c, "Header"):
                fit_line(
                    self.c, self.right, top, self.running, self.right - self.left, "M", 8.5, colour=GREY, side="right"
                )
            self.note(self.running)

    def end_page(self) -> None:
        if not self.open:
            return
        with aside(self.c, "Footer"):
            rule(self.c, self.left, 15 * mm, self.right)
            fit_line(
                self.c, self.left, 11 * mm, self.setting.foot, self.right - self.left - 24 * mm, "R", 8, colour=GREY
            )
            text(self.c, self.right, 11 * mm, f"page {self.page} of {self.setting.total}", "B", 8, side="right")
        self.c.showPage()
        self.open = False

    def shape(self, name: str, x: float, y: float, size: float, says: str = "") -> None:
        """Stamps a shape with its lower left corner at x, y: drawn once a binder, then only named. `says`: what it reads as,
        where no word stands beside it."""
        if self.dry:
            return
        self.c.stamp(self.stamps[name], x, y, size / GRID, says)

    def _stamp(self, name: str) -> str:
        """Draws the shape as a form, which is then named."""
        stamp = "shape-" + name.replace(" ", "-").replace("_", "-")
        if not self.c.hasForm(stamp):
            self.c.beginForm(stamp, -EDGE, -EDGE, GRID + EDGE, GRID + EDGE)
            draw_shape(self.c, name, 0, 0, GRID)
            self.c.endForm()
        return stamp

    def part(self, key: str, title: str, says: str = "", fresh: bool = True) -> None:
        """Opens a section with its bookmark: on a new page, or below the one before where that is allowed and fits.

        Further pages of the section say at their top that it goes on.
        """
        self.running = ""
        free = self.height * (1 - FREE) if self.limit == NO_LIMIT else self.height * FREE_SHORT
        if (fresh and self.limit == NO_LIMIT) or not self.open or self.wide or self.y < free:
            self.new_page()
        else:
            self.y -= 9 * mm
        self.bookmark(key, title, 0)
        self.title(title)
        self.running = f"{title}, continued"
        if says:
            self.para(says)

    def title(self, words: str, size: float = 21) -> None:
        """The head of a section over its steel rule."""
        self.level = 1
        with tagged(self.c, "H1"):
            for line in spaced(words, self.right - self.left, "X", size):
                text(self.c, self.left, self.y, line, "X", size)
                self.y -= size * 1.08
        steel(self.c, self.left, self.y + 3 * mm, self.right - self.left)
        self.y -= 7 * mm

    def bookmark(self, key: str, title: str, level: int) -> None:
        self.pages[key] = self.page
        self.c.bookmarkHorizontal(key, 0, min(self.y + 9 * mm, self.height))
        self.c.addOutlineEntry(clean(title), key, level=level, closed=level == 0)

    def mark(self, key: str) -> None:
        """Makes the line that begins here one that others lead to. It stands in no list of bookmarks."""
        self.pages.setdefault(key, self.page)
        self.c.bookmarkHorizontal(key, 0, min(self.y + 9 * mm, self.height))

    def term(self, kind: str, word: str) -> None:
        """Notes for the index that the word stands on this page."""
        if self.noting:
            self.terms[kind][word].add(self.page)

    def note(self, words: str) -> None:
        """Notes for the index whoever and whatever is named in words on this page."""
        if not self.noting:
            return
        for kind, name in self.setting.names.found[words]:
            self.terms[kind][name].add(self.page)

    def jump(self, key: str, x: float, y: float, right: float, top: float) -> None:
        """Makes a rectangle a link to the page of a key."""
        if key in self.known:
            self.c.linkRect(f"page {self.known[key]}", key, (x, y, right, top), relative=0, thickness=0)

    def link(self, key: str) -> AbstractContextManager[None]:
        """What is drawn within is the text of a link, where the key is one that links lead to."""
        return tagged(self.c, "Link") if key in self.known else NOTHING

    def need(self, room: float) -> None:
        if self.y - room < self.bottom:
            self.new_page(self.wide)

    def full(self, room: float = 0) -> bool:
        """Whether a short form has come to the end of what this section is given."""
        return self.page >= self.limit and self.y - room < self.bottom

    def stop(self, says: str) -> None:
        """Says at the foot of the last page that a short form leaves something out."""
        text(self.c, self.left, self.bottom + 1 * mm, f"The short form stops here: {says}", "I", 9, GREY)
        self.y = self.bottom

    def head(self, words: str, key: str = "", room: float = 26 * mm) -> None:
        """A heavy rule and a head that stays with `room` below it; with a key it is a bookmark."""
        self.need(room)
        self.y -= 3 * mm
        rule(self.c, self.left, self.y + 6 * mm, self.right, heavy=True)
        if key:
            self.bookmark(key, words, 1)
        self.note(words)
        self.level = 2
        lines = spaced(words, self.right - self.left, "X", 14)
        if len(lines) == 1:
            text_as(self.c, "H2", "", self.left, self.y, lines[0], "X", 14)
            self.y -= 6.4 * mm
            return
        with tagged(self.c, "H2"):
            for line in lines:
                text(self.c, self.left, self.y, line, "X", 14)
                self.y -= 6.4 * mm

    def label(self, words: str) -> None:
        """A small head that stays with what is drawn next: it waits for it."""
        self.waiting = words

    def open_with(self, room: float) -> None:
        """Draws the label that waits, on a page that has `room` below it."""
        words, self.waiting = self.waiting, ""
        if words:
            self.need(LABEL + room)
            self.para(words, "B", kind=f"H{self.level + 1}")

    def para(
        self, words: str, font: str = "R", size: float = 10.5, indent: float = 0, colour: Any = INK, kind: str = "P"
    ) -> None:
        self.open_with(2 * size * 1.3)
        lines = spaced(words, self.right - self.left - indent, font, size)
        self.need(size * 1.3)
        self.note(words)
        if len(lines) == 1:
            if not self.dry:
                text_as(self.c, kind, "", self.left + indent, self.y, lines[0], font, size, colour)
            self.y -= size * 1.3
        else:
            self._lines(lines, kind, (font, size, colour), indent)
        self.y -= 1.2 * mm

    def _lines(self, lines: Sequence[str], kind: str, look: tuple[str, float, Any], indent: float) -> None:
        font, size, colour = look
        with tagged(self.c, kind):
            for line in lines:
                self.need(size * 1.3)
                if not self.dry:
                    text(self.c, self.left + indent, self.y, line, font, size, colour)
                self.y -= size * 1.3

    def none(self, words: str) -> None:
        """Says in a sentence that there is nothing to show."""
        self.para(words, "I", colour=GREY)

    def table(
        self,
        columns: Sequence[tuple[str, float]],
        rows: Iterable[Sequence[str]],
        *,
        kind: str = "",
        term: int = 0,
        shape: int = -1,
        facts: bool = False,
        grouped: bool = False,
        keys: Sequence[str] = (),
        leads: bool = False,
        none: str = "Nothing is recorded.",
    ) -> None:
        """Columns are (title, share of the width). Cells of column `shape` show their shape before the word.

        `kind` puts the words of column `term` in the index. With `facts` the last cell is the id of a fact, shown by
        its first eight characters and linked to its address. When `grouped`, the first cell of each row stands over the
        rows that share it, and the columns are those of the other cells. `keys`: by which other lines lead to each row, empty
        for none. Where it `leads`, the id of a fact leads to the line in this binder that bears it, if there is one.
        """
        if rows := list(rows):
            shared = columns_of(tuple(columns), self.left, self.right, shape)
            draw_grid(self, Grid(shared, kind, term, facts, grouped, keys, leads), rows)
        else:
            self.none(none)
