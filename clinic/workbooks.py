"""Workbooks (XLSX): a table read from the first sheet of one, and written as one. What stands in it is taken as text.

A workbook is an archive that anybody may have made: one with macros is refused, and so is one that would unpack to more than
a table needs. The value of a formula is read, never the formula; where the file does not hold its value, the cell says so.
"""

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from zipfile import BadZipFile, ZipFile

from clinic.csv_rows import MOST_BYTES, MOST_COLUMNS, MOST_ROWS, NotCsv, decoded
from clinic.rules.late import Late

openpyxl, cells_of, styles, exceptions = map(
    Late, ("openpyxl", "openpyxl.cell", "openpyxl.styles", "openpyxl.utils.exceptions")
)  # it brings numpy with it

WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
MOST_UNPACKED = 20 * MOST_BYTES
MOST_PARTS = 200
ZIP = b"PK\x03\x04"
SAVE_AS = "Save it anew as a workbook (XLSX) without macros, or as CSV (comma separated, UTF-8)."


def text_of(data: bytes) -> str:
    """The lines of a CSV file or a workbook as CSV. Raises NotCsv."""
    return as_csv(lines_of(data)) if data.startswith(ZIP) else decoded(data)


def as_csv(lines: Iterable[Sequence[str]]) -> str:
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\r\n").writerows(lines)
    return out.getvalue()


def lines_of(data: bytes) -> list[list[str]]:
    """Every line of the first sheet, as many as a table takes and one more; an empty one keeps its place, so that lines are
    counted as the workbook counts them."""
    against_archive(data)
    values, written = (sheet_of(data, values=values) for values in (True, False))
    return [
        [cell_text(number, said, formula) for said, formula in zip(row, formulas, strict=True)]
        for number, (row, formulas) in enumerate(zip(values, written, strict=True), 1)
    ]


def against_archive(data: bytes) -> None:
    if len(data) > MOST_BYTES:
        raise NotCsv(f"The file is larger than {MOST_BYTES // 1_000_000} MB.", f"Split it: at most {MOST_ROWS} lines.")
    try:
        with ZipFile(io.BytesIO(data)) as archive:
            parts = archive.infolist()
    except (BadZipFile, NotImplementedError) as wrong:
        raise NotCsv("The workbook is broken and cannot be opened.", SAVE_AS) from wrong
    if any("vba" in part.filename.lower() or "macro" in part.filename.lower() for part in parts):
        raise NotCsv("The workbook holds macros, which are never opened here.", SAVE_AS)
    if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_UNPACKED:
        raise NotCsv("The workbook would unpack to more than a table needs.", SAVE_AS)


def sheet_of(data: bytes, *, values: bool) -> list[tuple[object, ...]]:
    """The cells of the first sheet, cut off where no table goes on."""
    try:
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=values, keep_links=False)
        sheet = book.worksheets[0]
        sheet.reset_dimensions()  # what the file says of its own size need not be so
        rows = [
            tuple(row) for row in sheet.iter_rows(max_row=MOST_ROWS + 2, max_col=MOST_COLUMNS + 1, values_only=True)
        ]
    except (
        exceptions.InvalidFileException,
        BadZipFile,
        KeyError,
        IndexError,
        ValueError,
        TypeError,
        AttributeError,
        SyntaxError,
    ) as wrong:
        raise NotCsv("This is no workbook that can be read.", SAVE_AS) from wrong
    widest = max((len(trimmed(row)) for row in rows), default=0)
    return [(*row, *(None,) * widest)[:widest] for row in rows]


def trimmed(row: Sequence[object]) -> Sequence[object]:
    """Without the empty cells at its end."""
    last = max((index for index, cell in enumerate(row, 1) if cell not in (None, "")), default=0)
    return row[:last]


def cell_text(number: int, said: object, formula: object) -> str:
    """A cell as somebody would type it."""
    if said is None:
        if isinstance(formula, str) and formula.startswith("="):
            raise NotCsv(f"Line {number} has a formula whose value the file does not hold.", "Write the value itself.")
        return ""
    if isinstance(said, bool):
        return "yes" if said else "no"
    if isinstance(said, datetime | date):
        return said.date().isoformat() if isinstance(said, datetime) else said.isoformat()
    if isinstance(said, float) and said.is_integer():
        return str(int(said))
    return str(said)


def workbook(title: str, heads: Sequence[str], lines: Iterable[Sequence[str]]) -> bytes:
    """One sheet, heads in bold. Every cell is text, also one that begins as a formula does."""
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet(title[:31])
    sheet.freeze_panes = "A2"
    for index, head in enumerate(heads, 1):
        sheet.column_dimensions[chr(64 + index)].width = max(14, len(head) + 4)
    for number, line in enumerate([heads, *lines]):
        cells = []
        for words in line:
            cell = cells_of.WriteOnlyCell(sheet, value=words)
            cell.data_type, cell.number_format = "s", "@"
            cell.font = styles.Font(bold=number == 0)
            cells.append(cell)
        sheet.append(cells)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()
