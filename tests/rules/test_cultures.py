"""What is noted beside a culture that was read, and readings that may be left out."""

from datetime import date

import pytest

from clinic.rules.cultures import noted_beside
from clinic.rules.readings import Judged, ReadingKind, ReadingSpec, Value, readings_verdict

DAY = date(2026, 3, 2)
HOURS = ReadingSpec("hours", "Incubated for", ReadingKind.NUMBER, unit="h", low=0, optional=True)
TEST = ReadingSpec("test", "The test", ReadingKind.CHOICE, choices=("no growth",), good=("no growth",))


@pytest.mark.parametrize(
    ("read", "says"),
    [
        ({}, "Read by Ines Pellow."),
        ({"hours": 24}, "Incubated 24 h. Read by Ines Pellow."),
        ({"hours": "24", "warmth": "56"}, "Incubated 24 h at 56 °C. Read by Ines Pellow."),
        ({"warmth": 56, "reader": "the county laboratory."}, "Incubated at 56 °C. Read by the county laboratory."),
        (
            {"laboratory": "Lake Street", "report": "26-0904", "hours": None},
            "Read by Ines Pellow. Laboratory: Lake Street. Report 26-0904.",
        ),
    ],
)
def test_what_was_noted_is_said_and_the_rest_left_out(read: dict[str, Value], says: str) -> None:
    assert noted_beside(read, "Ines Pellow") == says


def test_nothing_is_said_where_nothing_was_noted() -> None:
    assert noted_beside({"test": "no growth"}) == ""


@pytest.mark.parametrize("empty", [None, ""])
def test_nobody_is_asked_why_a_reading_is_missing_that_may_be_left_out(empty: Value) -> None:
    assert [one.key for one in readings_verdict([HOURS, TEST], {"hours": empty}, {}, DAY)] == ["test"]


@pytest.mark.parametrize(("typed", "judged"), [("24", Judged.GOOD), ("a day", Judged.UNREADABLE), (-1, Judged.OUT)])
def test_one_that_may_be_left_out_is_judged_where_it_was_taken(typed: Value, judged: Judged) -> None:
    assert [one.judged for one in readings_verdict([HOURS], {"hours": typed}, {}, DAY)] == [judged]
