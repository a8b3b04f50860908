"""A table over as many pages as it needs: plain strings, wrapped in their cells, one text object a row."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportlab.lib.units import mm

from clinic.rules.words import out_of
from training.documents.paper import GREY, INK, fit_line, rule, spaced, text
from training.documents.pen import Look
from training.documents.tags import COLUMN_HEAD, aside, tagged

if TYPE_CHECKING:
    from .sheet import Sheet

SIZE, LEAD = 9.5, 4.2 * mm
LOOK = Look("R", SIZE, LEAD, INK)
GAP, SHAPE = 2 * mm, 5 * mm
GROUP = 4.8 * mm
# A row moves whole to the next page unless it is longer than half of one.
WHOLE = 25
ID = 8


@dataclass(frozen=True, slots=True)
class Grid:
    """The columns of one table; see Sheet.table."""

    titles: tuple[str, ...]
    widths: tuple[float, ...]
    kind: str
    term: int
    shape: int
    facts: bool
    grouped: bool
    keys: tuple[str, ...] = ()
    leads: bool = False


@dataclass(slots=True)
class _Heads:
    """By which names the cells of a grouped table lead to the heads of their columns and to that of their group."""

    table: str
    columns: int
    groups: int = 0
    leads: tuple[str, ...] = ()  # of each cell in the group that is open

    def column(self, n: int) -> str:
        return f"{self.table}c{n}"

    def group(self) -> str:
        return f"{self.table}g{self.groups}"

    def open_group(self) -> None:
        self.groups += 1
        group = self.group()
        self.leads = tuple(f"/A<</O/Table/Headers[({self.column(n)})({group})]>>" for n in range(self.columns))


def draw_grid(sheet: "Sheet", grid: Grid, rows: Sequence[Sequence[str]]) -> None:
    """Draws every row; in a short form as many as the section may have, and says how many were left out."""
    sheet.open_with(_opening(grid, rows[0]))
    sheet.need(_opening(grid, rows[0]))
    sheet.tables += 1
    heads = _Heads(f"t{sheet.tables}", len(grid.titles))
    sheet.c.tag("Table")
    with tagged(sheet.c, "THead"), tagged(sheet.c, "TR"):
        _titles(sheet, grid, heads)
    sheet.c.tag("TBody")
    above = ""
    for done, row in enumerate(rows):
        group, cells = (row[0], row[1:]) if grid.grouped else ("", row)
        key = grid.keys[done] if grid.keys else ""
        if not _row(sheet, grid, cells, group, heads, opens=group != above, key=key):
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
    lines = max(map(len, _cells(grid, row[1:] if grid.grouped else row)))
    return 9 * mm + grid.grouped * GROUP + min(lines, WHOLE) * LEAD


def _titles(sheet: "Sheet", grid: Grid, heads: _Heads) -> None:
    if not sheet.dry:
        _draw_titles(sheet, grid, heads)
    sheet.y -= 5.6 * mm


def _draw_titles(sheet: "Sheet", grid: Grid, heads: _Heads) -> None:
    x = sheet.left
    for n, (title, width) in enumerate(zip(grid.titles, grid.widths, strict=True)):
        with tagged(sheet.c, "TH", COLUMN_HEAD):
            if grid.grouped:
                sheet.c.named(heads.column(n))
            text(sheet.c, x, sheet.y, title, "M", 9, GREY)
        x += width
    rule(sheet.c, sheet.left, sheet.y - 1.5 * mm, sheet.right, heavy=True)


def _row(sheet: "Sheet", grid: Grid, row: Sequence[str], group: str, heads: _Heads, opens: bool, key: str) -> bool:
    """False where the section has no page left for it. A row that opens its group stays with the group's name."""
    fact = row[-1] if grid.facts else ""
    cells = _cells(grid, (*row[:-1], fact[:ID]) if grid.facts else row)
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
            sheet.c.row(heads.leads if grid.grouped else [""] * len(cells))
            _first(sheet, grid, row)
            _links(sheet, grid, fact, key)
        _lines(sheet, grid, [cell[start : start + room] for cell in cells])
        start += room
    sheet.c.untag()
    rule(sheet.c, sheet.left, sheet.y + 2.9 * mm, sheet.right)
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
    heads.open_group()
    with tagged(sheet.c, "TR"), tagged(sheet.c, "TH", f"/A<</O/Table/Scope/Column/ColSpan {heads.columns}>>"):
        sheet.c.named(heads.group())
        _group(sheet, grid, group)


def _group(sheet: "Sheet", grid: Grid, group: str, more: str = "") -> None:
    """The name that the rows below share, over their whole width."""
    if grid.kind:
        sheet.term(grid.kind, group)
    sheet.note(group)
    fit_line(sheet.c, sheet.left, sheet.y, f"{group}{more}", sheet.right - sheet.left, "B", SIZE)
    sheet.y -= GROUP


def _cells(grid: Grid, row: Sequence[str]) -> list[tuple[str, ...]]:
    return [
        spaced(cell, width - GAP - (SHAPE if i == grid.shape else 0), "R", SIZE)
        for i, (cell, width) in enumerate(zip(row, grid.widths, strict=True))
    ]


def _first(sheet: "Sheet", grid: Grid, row: Sequence[str]) -> None:
    """What belongs to the first line of a row: its words in the index, and its shape."""
    if grid.kind and not grid.grouped:
        sheet.term(grid.kind, row[grid.term])
    for cell in row:
        sheet.note(cell)
    if grid.shape >= 0 and row[grid.shape]:
        sheet.shape(row[grid.shape], sheet.left + sum(grid.widths[: grid.shape]), sheet.y - 0.8 * mm, 4 * mm)


def _links(sheet: "Sheet", grid: Grid, fact: str, key: str) -> None:
    """The lines that lead here, and where the id of the fact leads: to its line in this binder, or to its page."""
    if key:
        sheet.mark(key)
    if not fact:
        return
    box = (sheet.right - grid.widths[-1], sheet.y - 1 * mm, sheet.right, sheet.y + 3 * mm)
    last = len(grid.widths) - 1
    if grid.leads and line_of(fact) in sheet.known:
        sheet.c.cell_links(last)
        sheet.jump(line_of(fact), *box)
        sheet.c.untag()
        return
    if not grid.leads and fact in sheet.setting.wanted:
        sheet.mark(line_of(fact))
    if sheet.setting.fact_url:
        sheet.c.cell_links(last)
        sheet.c.linkURL(sheet.setting.fact_url + fact, box, relative=0, thickness=0, says=f"record {fact[:ID]}")
        sheet.c.untag()


def line_of(fact: str) -> str:
    """The key of the line that bears a fact."""
    return f"line-{fact}"


def _lines(sheet: "Sheet", grid: Grid, cells: Sequence[Sequence[str]]) -> None:
    if not sheet.dry:
        x, shown = sheet.left, []
        for i, (cell, width) in enumerate(zip(cells, grid.widths, strict=True)):
            if any(cell):
                shown.append((i, x + (SHAPE if i == grid.shape else 0), cell))
            x += width
        sheet.c.write_cells(sheet.y, shown, LOOK)
    sheet.y -= max(map(len, cells)) * LEAD
