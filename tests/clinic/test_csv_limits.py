"""Reading a file costs as much as the file is long, and no more than the stated limits."""

from collections.abc import Callable
from csv import reader
from io import StringIO
from time import process_time

import pytest

from clinic.csv_rows import LIMITS, MOST_BYTES, MOST_COLUMNS, MOST_ROWS, CellFault, FileColumn, FileRow, read_rows
from clinic.forms.roster_file import TableFile
from clinic.forms.use import UseFile
from clinic.roster import read_roster
from tests.cast import Cast

COLUMNS = (FileColumn("day", required=True, is_day=True), FileColumn("units", required=True))
ODD = {  # each of 198 KB: what an assistant once stopped the register with, and its neighbours
    "commas only": "," * 198_000,
    "heads all different": ",".join(f"h{n}" for n in range(29_000)),
    "a wide line below": "day,units\n" + "," * 197_990,
    "lines of nothing": "day,units\n" + "\n" * 197_990,
    "one cell a line": "day,units\n" + "a\n" * 99_000,
    "quotes": "day,units\n" + '"' * 197_990,
}


def read(text: str) -> tuple[list[FileRow], list[CellFault]]:
    return read_rows(text, COLUMNS)


def least_of(times: int, act: Callable[[], object]) -> float:
    def once() -> float:
        start = process_time()
        act()
        return process_time() - start

    return min(once() for _ in range(times))


@pytest.mark.parametrize("name", ODD)
def test_a_file_of_any_shape_is_read_at_once(name: str) -> None:
    """One such file took 25 seconds, thousands of times as long as taking it apart at all, and a page of 198,000 faults."""
    plain = least_of(3, lambda: list(reader(StringIO(ODD[name]))))
    assert least_of(3, lambda: read(ODD[name])) < 100 * plain
    rows, faults = read(ODD[name])
    assert (rows, 1 <= len(faults) <= 3) == ([], True)


def test_more_columns_than_any_table_has_are_not_read() -> None:
    _, (fault,) = read("day,units\n2025-02-03,1\n" + "," * MOST_COLUMNS)
    assert (fault.line, f"has {MOST_COLUMNS + 1} cells" in fault.says) == (3, True)


def test_as_many_lines_as_are_said_are_read_and_one_more_is_not() -> None:
    line = "2025-02-03,1\n"
    rows, faults = read("day,units\n" + line * MOST_ROWS)
    assert (len(rows), faults) == (MOST_ROWS, [])
    rows, (fault,) = read("day,units\n" + line * (MOST_ROWS + 1))
    assert (rows, fault.says) == ([], f"The file has more than {MOST_ROWS} lines.")


def test_the_limits_are_said_before_a_file_is_chosen() -> None:
    assert (MOST_ROWS, MOST_BYTES) == (1000, 1_000_000) and LIMITS == "At most 1000 lines and 1 MB at a time."
    assert all(LIMITS in str(form.fields["file"].help_text) for form in (TableFile(), UseFile()))


@pytest.mark.django_db
@pytest.mark.one_database
def test_a_roster_twice_as_long_takes_about_twice_as_long(cast: Cast) -> None:
    """Quadratic would be four times."""
    heads = "given_name,family_name,staff_number,email,job_role,from_day,to_day,language\n"

    def roster(many: int) -> str:
        return heads + "".join(f"Ann{n},Bee,,a{n}@clinic.example,new: Driver,2025-03-03,,\n" for n in range(many))

    short, long = roster(MOST_ROWS // 4), roster(MOST_ROWS)
    assert read_roster(long, cast.lane).faults == []
    assert least_of(2, lambda: read_roster(long, cast.lane)) < 8 * least_of(2, lambda: read_roster(short, cast.lane))
