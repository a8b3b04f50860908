"""Workbooks that anybody may have made: read as text, never run, never unpacked beyond what a table needs."""

import io
from datetime import date, datetime
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile

import pytest
from openpyxl import Workbook, load_workbook

from clinic.csv_rows import MOST_COLUMNS, MOST_ROWS, NotCsv
from clinic.workbooks import MOST_UNPACKED, lines_of, text_of, workbook


def made(*rows: list[Any]) -> bytes:
    book, out = Workbook(), io.BytesIO()
    for row in rows:
        book.active.append(row)  # type: ignore[union-attr]
    book.save(out)
    return out.getvalue()


def with_part(data: bytes, name: str, content: bytes) -> bytes:
    out = io.BytesIO(data)
    with ZipFile(out, "a", ZIP_DEFLATED) as archive:
        archive.writestr(name, content)
    return out.getvalue()


def test_what_a_spreadsheet_keeps_as_numbers_and_days_is_read_as_people_type_it() -> None:
    noon = datetime(2025, 1, 6, 12)  # noqa: DTZ001 a workbook knows no zone
    row = ["unit 1", 12, 12.5, 4.0, date(2025, 1, 6), noon, True, None]
    assert lines_of(made(row)) == [["unit 1", "12", "12.5", "4", "2025-01-06", "2025-01-06", "yes"]]


def test_an_empty_line_keeps_its_place_so_that_lines_count_as_in_the_workbook() -> None:
    assert text_of(made(["a", "b"], [], ["1", "2"])) == "a,b\r\n,\r\n1,2\r\n"


def test_a_formula_whose_value_is_not_there_is_named_by_its_line() -> None:
    with pytest.raises(
        NotCsv, match=r"Line 2 has a formula whose value the file does not hold. Write the value itself."
    ):
        text_of(made(["label"], ["=1+1"]))


def test_macros_are_refused_by_what_is_inside_and_not_by_the_name() -> None:
    with pytest.raises(NotCsv, match="holds macros"):
        text_of(with_part(made(["a"]), "xl/vbaProject.bin", b"x"))


def test_an_archive_that_would_fill_the_memory_is_refused_before_it_is_unpacked() -> None:
    bomb = with_part(made(["a"]), "xl/media/big.bin", b"0" * (MOST_UNPACKED + 1))
    assert len(bomb) < 100_000
    with pytest.raises(NotCsv, match="would unpack to more than a table needs"):
        text_of(bomb)


LAUGHS = b"""<?xml version="1.0"?><!DOCTYPE lolz [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;">]>
<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1"><c r="A1" t="inlineStr">
<is><t>&b;</t></is></c></row></sheetData></worksheet>"""


def test_an_entity_in_its_words_is_refused() -> None:
    out, book = io.BytesIO(), ZipFile(io.BytesIO(made(["a"])))
    with ZipFile(out, "w") as archive:
        for name in book.namelist():
            archive.writestr(name, LAUGHS if name.endswith("sheet1.xml") else book.read(name))
    with pytest.raises(NotCsv, match="no workbook that can be read"):
        text_of(out.getvalue())


@pytest.mark.parametrize("data", [b"PK\x03\x04 and nothing else", made(["a"])[:400]])
def test_a_broken_archive_is_said_with_the_remedy(data: bytes) -> None:
    with pytest.raises(NotCsv, match=r"broken and cannot be opened. Save it anew"):
        text_of(data)


def test_an_archive_of_something_else_is_no_workbook() -> None:
    out = io.BytesIO()
    with ZipFile(out, "w") as archive:
        archive.writestr("letter.txt", "dear all")
    with pytest.raises(NotCsv, match="no workbook that can be read"):
        text_of(out.getvalue())


def test_no_more_is_read_than_a_table_takes() -> None:
    lines = lines_of(made(*([f"line {at}"] for at in range(MOST_ROWS + 50)), ["x"] * (MOST_COLUMNS + 9)))
    assert (len(lines), len(lines[0])) == (MOST_ROWS + 2, 1)


@pytest.mark.parametrize("words", ["=1+1", "+44 20", "-3", "@cmd", "O’Neill"])
def test_what_is_written_is_text_and_comes_back_the_same(words: str) -> None:
    data = workbook("Units", ["label"], [[words]])
    cell = load_workbook(io.BytesIO(data)).worksheets[0]["A2"]
    assert (cell.data_type, cell.value) == ("s", words)
    assert lines_of(data) == [["label"], [words]]
