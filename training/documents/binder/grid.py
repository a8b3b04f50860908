"""A table over as many pages as it needs: plain strings, wrapped in their cells, one text object a row."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate
from typing import TYPE_CHECKING

from reportlab.lib.units import mm

from clinic.rules.words import out_of
from training.documents.paper import GREY, INK, LINE, clean, column, fit_line, rule
from training.documents.pen import Lines, Look
from training.documents.tags import aside

if TYPE_CHECKING:
    from .sheet import Sheet

SIZE, LEAD = 9.5, 4.2 * mm
LOOK, TITLES = Look("R", SIZE, LEAD, INK), Look("M", 9, 9 * 1.2, GREY)
GAP, SHAPE = 2 * mm, 5 * mm
GROUP = 4.8 * mm
# A row moves whole to the next page unless it is longer than half of one.
WHOLE = 25
ID = 8
NOTHING = ("",) * 100  # what the cells of a row say further where they say nothing


class Columns:
    """The columns of a table, which many tables share: where each begins, with its title; how wide it is, where its words
    begin, and what wraps them. `shape`: of which column each word follows its shape; -1 for none."""

    def __init__(self, columns: Sequence[tuple[str, float]], left: float, right: float, shape: int) -> None:
        whole = sum(share for _, share in columns)
        self.widths = [(right - left) * share / whole for _, share in columns]
        self.lefts = list(accumulate(self.widths[:-1], initial=left))
        self.heads = [(x, clean(title)) for x, (title, _) in zip(self.lefts, columns, strict=True)]
        self.texts = [x + SHAPE if n == shape else x for n, x in enumerate(self.lefts)]
        rooms = [width - GAP - (SHAPE if n == shape else 0) for n, width in enumerate(self.widths)]
        self.wraps = [column(room, "R", SIZE) for room in rooms]
        self.shape = shape

    def cells(self, row: Sequence[str]) -> list[Lines]:
        return [lines[words] for lines, words in zip(self.wraps, row, strict=True)]


columns_of = lru_cache(maxsize=256)(Columns)


@dataclass(slots=True)
class Grid:
    """What one table is; see Sheet.table."""

    columns: Columns
    kind: str
    term: int
    facts: bool
    grouped: bool
    keys: Sequence[str] = ()
    leads: bool = False


class _Heads:
    """By which names the cells of a grouped table lead to the heads of their columns and to that of their group."""

    __slots__ = ("begins", "groups", "leads", "names", "table")

    def __init__(self, table: str, columns: int, grouped: bool) -> None:
        self.table, self.groups = table, 0
        self.names = self.leads = NOTHING[:columns]  # in a grouped table they have some, and each group has its own
        self.begins: list[str] = []
        if grouped:
            self.names = tuple([f"{table}c{n}" for n in range(columns)])
            self.begins = [f"/A<</O/Table/Headers[({name})(" for name in self.names]

    def open_group(self) -> str:
        """The name of the group that opens."""
        self.groups += 1
        group = f"{self.table}g{self.groups}"
        end = f"{group})]>>"
        self.leads = tuple([f"{begins}{end}" for begins in self.begins])
        return group


def draw_grid(sheet: "Sheet", grid: Grid, rows: Sequence[Sequence[str]]) -> None:
    """Draws every row; in a short form as many as the section may have, and says how many were left out."""
    room = _opening(grid, rows[0])
    sheet.open_with(room)
    sheet.need(room)
    sheet.tables += 1
    heads = _Heads(f"t{sheet.tables}", len(grid.columns.widths), grid.grouped and not sheet.dry)
    sheet.c.tag("Table")
    sheet.c.tag("THead")
    _titles(sheet, grid, heads)
    sheet.c.untag()
    sheet.c.tag("TBody")
    above, grouped, keys = "", grid.grouped, grid.keys
    for done, row in enumerate(rows):
        group, cells = (row[0], row[1:]) if grouped else ("", row)
        if not _row(sheet, grid, cells, group, heads, group != above, keys[done] if keys else ""):
            _end(sheet)
            sheet.stop(f"{out_of(done, len(rows), 'line')}. The full binder holds them all.")
            return
        above = group
    _end(sheet)
    sheet.y -= 3 * mm


def _end(sheet: "Sheet") -> None:
    sheet.c.untag()  # the body
    sheet.c.untag()  # the table


def _opening(grid: Grid, row: Sequence[str]) -> float:
    """The room that titles and a first row take, so that no titles stand alone at the foot of a page."""
    lines = max(map(len, grid.columns.cells(row[1:] if grid.grouped else row)))
    return 9 * mm + grid.grouped * GROUP + min(lines, WHOLE) * LEAD


def _titles(sheet: "Sheet", grid: Grid, heads: _Heads) -> None:
    if not sheet.dry:
        _draw_titles(sheet, grid, heads)
    sheet.y -= 5.6 * mm


def _draw_titles(sheet: "Sheet", grid: Grid, heads: _Heads) -> None:
    sheet.c.write_heads(sheet.y, grid.columns.heads, heads.names, TITLES)
    rule(sheet.c, sheet.left, sheet.y - 1.5 * mm, sheet.right, heavy=True)


def _row(sheet: "Sheet", grid: Grid, row: Sequence[str], group: str, heads: _Heads, opens: bool, key: str) -> bool:
    """False where the section has no page left for it. A row that opens its group stays with the group's name."""
    fact = row[-1] if grid.facts else ""
    cells = grid.columns.cells((*row[:-1], fact[:ID]) if grid.facts else row)
    lines, start = max(map(len, cells)), 0
    while start < lines:
        first = opens and start == 0
        room = int((sheet.y - sheet.bottom - 2 * mm - first * GROUP) / LEAD)
        if room < min(lines - start, WHOLE):
            if sheet.page >= sheet.limit:
                if start:
                    sheet.c.untag()
                return False
            _turn(sheet, grid, heads, "" if first else group)
            continue
        if first:
            _opens(sheet, grid, group, heads)
        if start == 0:
            sheet.c.row(heads.leads)
            _first(sheet, grid, row)
            _links(sheet, grid, fact, key)
        part = cells if room >= lines and start == 0 else [cell[start : start + room] for cell in cells]
        sheet.c.write_cells(sheet.y, grid.columns.texts, part, LOOK)
        sheet.y -= min(lines - start, room) * LEAD
        start += room
    sheet.c.untag()
    sheet.c.rule(sheet.left, sheet.y + 2.9 * mm, sheet.right, LINE, 0.5)
    sheet.y -= 1.2 * mm
    return True


def _turn(sheet: "Sheet", grid: Grid, heads: _Heads, group: str) -> None:
    """The next page, with the titles and the group that goes on there; both were read where they first stood."""
    sheet.new_page(sheet.wide)
    with aside(sheet.c, "Header"):
        _titles(sheet, grid, heads)
        if group:
            _group(sheet, grid, group, ", continued")


def _opens(sheet: "Sheet", grid: Grid, group: str, heads: _Heads) -> None:
    """The row that is the head of its group."""
    sheet.c.tag("TR")
    sheet.c.tag("TH", f"/A<</O/Table/Scope/Column/ColSpan {len(heads.names)}>>")
    sheet.c.named(heads.open_group())
    _group(sheet, grid, group)
    sheet.c.untag()
    sheet.c.untag()


def _group(sheet: "Sheet", grid: Grid, group: str, more: str = "") -> None:
    """The name that the rows below share, over their whole width."""
    if grid.kind:
        sheet.term(grid.kind, group)
    sheet.note(group)
    if not sheet.dry:
        fit_line(sheet.c, sheet.left, sheet.y, f"{group}{more}", sheet.right - sheet.left, "B", SIZE)
    sheet.y -= GROUP


def _first(sheet: "Sheet", grid: Grid, row: Sequence[str]) -> None:
    """What belongs to the first line of a row: its words in the index, and its shape."""
    if sheet.noting:
        if grid.kind and not grid.grouped:
            sheet.term(grid.kind, row[grid.term])
        found = sheet.setting.names.found
        for words in row:
            for kind, name in found[words]:
                sheet.term(kind, name)
    shape = grid.columns.shape
    if shape >= 0 and row[shape] and not sheet.dry:
        sheet.shape(row[shape], grid.columns.lefts[shape], sheet.y - 0.8 * mm, 4 * mm)


def _links(sheet: "Sheet", grid: Grid, fact: str, key: str) -> None:
    """The lines that lead here, and where the id of the fact leads: to its line in this binder, or to its page."""
    if key:
        sheet.mark(key)
    if not fact:
        return
    if sheet.dry:
        if not grid.leads and fact in sheet.setting.wanted:
            sheet.mark(line_of(fact))
        return
    box = (sheet.right - grid.columns.widths[-1], sheet.y - 1 * mm, sheet.right, sheet.y + 3 * mm)
    if grid.leads and line_of(fact) in sheet.known:
        line = line_of(fact)
        sheet.c.cell_links(box, line, f"page {sheet.known[line]}", inside=True)
        return
    if not grid.leads and fact in sheet.setting.wanted:
        sheet.mark(line_of(fact))
    if sheet.setting.fact_url:
        sheet.c.cell_links(box, sheet.setting.fact_url + fact, f"record {fact[:ID]}")


def line_of(fact: str) -> str:
    """The key of the line that bears a fact."""
    return f"line-{fact}"
