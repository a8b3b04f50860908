"""A table as a file: an empty one with its heads, a sample, and what somebody filled in, as CSV or as a workbook."""

from collections.abc import Sequence

from clinic import csv_rows
from clinic.csv_rows import CellFault, read_rows
from clinic.tables import MOST_LINES, Table, TableLine
from clinic.workbooks import WORKBOOK, workbook

CSV = "text/csv; charset=utf-8"


def heads(table: Table) -> list[csv_rows.FileColumn]:
    """The columns as files have them. What stands in a cell is read where a page’s cell is read, so that both say the same."""
    return [csv_rows.FileColumn(each.name, most=5000, may_lack=not each.required) for each in table.columns]


def read_file(text: str, table: Table) -> tuple[list[TableLine], list[CellFault]]:
    """The lines of a file, and every fault of its shape. Days and choices are the form’s to read."""
    rows, faults = read_rows(text, heads(table))
    if len(rows) > MOST_LINES:
        faults = [
            *faults,
            CellFault(0, "", f"The file has more than {MOST_LINES} lines.", "Split it: that many at a time."),
        ]
    return ([] if faults else [TableLine(row.values, number=row.line) for row in rows]), faults


def as_file(table: Table, lines: Sequence[TableLine], kind: str) -> tuple[bytes, str]:
    """The file and what it is. Text that a spreadsheet would take for a formula is guarded."""
    columns = heads(table)
    names = [each.name for each in columns]
    if kind == "xlsx":
        return workbook(table.title, names, [[line[name] for name in names] for line in lines]), WORKBOOK
    rows = [{name: line[name] for name in names} for line in lines]
    return csv_rows.written(columns, rows).encode(), CSV
