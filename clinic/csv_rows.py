"""Reading and writing tables of comma-separated values (RFC 4180), with every fault by line and column.

A spreadsheet takes a cell that starts with = + - @ for a formula. What is written here therefore puts a single quote before
such text (row F-28: OWASP CSV injection; text columns only, days are left alone), and what is read takes that quote off, so
that a file written here reads back as it was.

The standard library’s `csv` parts the cells. A kept library of tables (one that guesses types, or frames of data) would part
them again and leave all that is here: the line a record begins on, the sentence at each cell, limits, days in a site’s order.
"""

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import islice

from clinic.rules.reading_days import FIRST_DAY, LAST_DAY, Doubt, Reading
from clinic.rules.words import listed, short_day
from clinic.site_days import reading

MOST_BYTES = 1_000_000
MOST_ROWS = 1000
MOST_COLUMNS = 40
LIMITS = f"At most {MOST_ROWS} lines and {MOST_BYTES // 1_000_000} MB at a time."  # said before a file is chosen
FORMULA = ("=", "+", "-", "@", "\t", "\r")
OTHER_FILES = {
    b"PK\x03\x04": "This is a spreadsheet workbook or an archive, not a CSV file.",
    b"\xd0\xcf\x11\xe0": "This is an old spreadsheet workbook, not a CSV file.",
    b"%PDF": "This is a PDF, not a CSV file.",
    b"\x89PNG": "This is a picture, not a CSV file.",
    b"\xff\xd8\xff": "This is a picture, not a CSV file.",
}
SAVE_AS = "In the spreadsheet choose “save as”, then CSV (comma separated, UTF-8)."


@dataclass(frozen=True, slots=True, order=True)
class CellFault:
    """What is wrong in one line of a file, and the remedy. Line 0: the file as a whole; column empty: the whole line."""

    line: int
    column: str
    says: str
    supply: str = ""

    def __str__(self) -> str:
        where = f"line {self.line}" if self.line else "the file"
        return f"{where}{f', {self.column}' if self.column else ''}: {self.says} {self.supply}".strip()


@dataclass(frozen=True, slots=True)
class FileColumn:
    """A column of a file. `most`: the longest text it takes. `may_lack`: the whole column may be left out."""

    name: str
    required: bool = False
    most: int = 200
    may_lack: bool = False
    is_day: bool = False


@dataclass(frozen=True, slots=True)
class FileRow:
    """One line of the file, every column as trimmed text; `line` is where it begins, 1 for the first of the file."""

    line: int
    values: dict[str, str]

    def __getitem__(self, column: str) -> str:
        return self.values.get(column, "")


class NotCsv(Exception):
    """The file cannot be read as a table at all. Carries a sentence and its remedy."""

    def __init__(self, says: str, supply: str = SAVE_AS) -> None:
        super().__init__(f"{says} {supply}")
        self.says, self.supply = says, supply


def decoded(data: bytes) -> str:
    """UTF-8 with or without a byte order mark. Raises NotCsv."""
    if len(data) > MOST_BYTES:
        raise NotCsv(
            f"The file is larger than {MOST_BYTES // 1_000_000} MB.", f"Split it: at most {MOST_ROWS} lines at a time."
        )
    for start, says in OTHER_FILES.items():
        if data.startswith(start):
            raise NotCsv(says)
    if b"\0" in data:
        raise NotCsv("This file holds something other than text.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        line = data.count(b"\n", 0, wrong.start) + 1
        raise NotCsv(f"The file is not UTF-8: a letter in line {line} cannot be read.") from None


def read_rows(text: str, columns: Sequence[FileColumn]) -> tuple[list[FileRow], list[CellFault]]:
    """Every row, and every fault of shape: the heads, the number of cells, what is left out, too long or no day."""
    lines = list(islice(numbered(text), MOST_ROWS + 2))
    if not lines:
        return [], [CellFault(0, "", "The file is empty.", f"Its first line names the columns: {heads_of(columns)}.")]
    (_, head), *body = [(line, cells) for line, cells in lines if isinstance(cells, list)] or [(1, [])]
    broken = [CellFault(line, "", cells) for line, cells in lines if isinstance(cells, str)]
    names = [name.strip().lower() for name in head]
    faults = [*broken, *head_faults(names, columns)]
    if faults:
        return [], faults
    if len(body) > MOST_ROWS:
        return [], [
            CellFault(0, "", f"The file has more than {MOST_ROWS} lines.", "Split it: that many are read at a time.")
        ]
    rows = [FileRow(line, cleaned(names, cells)) for line, cells in body if len(cells) == len(names)]
    uneven = [uneven_fault(line, cells, names) for line, cells in body if len(cells) != len(names)]
    nothing = [] if body else [CellFault(0, "", "The file has heads and no line below them.", "Add a line for each.")]
    cells = (fault for row in rows for fault in cell_faults(row, columns))
    return rows, [*uneven, *nothing, *cells, *mixed_faults(rows, columns)]


def numbered(text: str) -> Iterator[tuple[int, list[str] | str]]:
    """Each record with the line it begins on; lines without anything are passed over. A broken quote is a sentence, and so
    is a line of more cells than any table here has: nothing is read beyond it."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader, None)
        except csv.Error as wrong:
            yield (
                line,
                f"The quotation marks do not fit together ({wrong}). Put a whole cell in quotes, and double a quote within.",
            )
            return
        if cells is None:
            return
        if len(cells) > MOST_COLUMNS:
            yield line, f"This line has {len(cells)} cells, and no table here has more than {MOST_COLUMNS}. {SAVE_AS}"
            return
        if any(cell.strip() for cell in cells):
            yield line, cells


def head_faults(names: Sequence[str], columns: Sequence[FileColumn]) -> list[CellFault]:
    if len(names) == 1 and (";" in names[0] or "\t" in names[0]):
        return [CellFault(1, "", "The columns are not parted by commas.", SAVE_AS)]
    known = {column.name for column in columns}
    missing = [
        CellFault(1, c.name, "This column is missing.", f"The heads are: {heads_of(columns)}.")
        for c in columns
        if c.name not in names and not c.may_lack
    ]
    unknown = [
        CellFault(1, name or "without a name", "This column is not known.", "Take it out.")
        for name in names
        if name not in known
    ]
    twice = [
        CellFault(1, name, "This column is there twice.", "Keep one of them.")
        for name in sorted({n for n in names if names.count(n) > 1})
    ]
    return [*missing, *unknown, *twice]


def heads_of(columns: Sequence[FileColumn]) -> str:
    return ", ".join(column.name for column in columns)


def uneven_fault(line: int, cells: Sequence[str], names: Sequence[str]) -> CellFault:
    says = f"This line has {len(cells)} cells, and the heads are {len(names)}."
    return CellFault(line, "", says, "A comma inside a cell needs quotation marks around the cell.")


def cleaned(names: Sequence[str], cells: Sequence[str]) -> dict[str, str]:
    return {name: unguarded(" ".join(cell.split())) for name, cell in zip(names, cells, strict=True)}


def cell_faults(row: FileRow, columns: Sequence[FileColumn]) -> Iterator[CellFault]:
    for column in columns:
        value = row[column.name]
        if column.required and not value:
            yield CellFault(row.line, column.name, "This is empty.", "Fill it in.")
        elif len(value) > column.most:
            yield CellFault(row.line, column.name, f"This is longer than {column.most} letters.", "Shorten it.")
        elif column.is_day and value:
            yield from day_faults(row, column, value)


def day_faults(row: FileRow, column: FileColumn, value: str) -> Iterator[CellFault]:
    read = reading(value)
    if read is None or not FIRST_DAY <= read.day <= LAST_DAY:
        yield CellFault(row.line, column.name, f"“{value}” is not a day.", "Write it as 2026-11-25 or 25 Nov 2026.")
    elif read.doubt is Doubt.YEAR:
        yield CellFault(row.line, column.name, f"“{value}” has no year, and may be {either(read)}.", "Write the year.")


def mixed_faults(rows: Sequence[FileRow], columns: Sequence[FileColumn]) -> Iterator[CellFault]:
    """Where one cell is a day in the other order only, no cell of the file says by itself in which order it is written."""
    cells = [
        (row, column, read)
        for row in rows
        for column in columns
        if column.is_day and (read := reading(row[column.name]))
    ]
    turned = next((row.line for row, _, read in cells if read.is_turned), None)
    for row, column, read in cells if turned else []:
        if read.doubt is Doubt.ORDER and read.other:
            says = f"“{row[column.name]}” may be {either(read)}: line {turned} has its days in the other order."
            yield CellFault(
                row.line, column.name, says, f"Write it as {read.day.isoformat()} or {read.other.isoformat()}."
            )


def either(read: Reading) -> str:
    return listed([short_day(day) for day in (read.day, read.other) if day], "or")


def day_in(value: str) -> date | None:
    """The day a cell says, in the ways every form takes and the order of the site; None where it says none."""
    read = reading(value)
    return read.day if read and read.doubt is not Doubt.YEAR and FIRST_DAY <= read.day <= LAST_DAY else None


def guarded(value: str) -> str:
    """Text that no spreadsheet takes for a formula."""
    return f"'{value}" if value.startswith(FORMULA) else value


def unguarded(value: str) -> str:
    return value[1:] if value.startswith("'") and value[1:].startswith(FORMULA) else value


def written(columns: Sequence[FileColumn], rows: Iterable[dict[str, str]]) -> str:
    """The file for these rows, lines ending as RFC 4180 says. Text is guarded, days are not."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([column.name for column in columns])
    for row in rows:
        writer.writerow([row[c.name] if c.is_day else guarded(row[c.name]) for c in columns])
    return out.getvalue()
