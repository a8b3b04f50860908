"""Rows of the handbook that the library, the code or a page rests on: each is named beside a test that holds it."""

import re

import pytest

from tests.house.sources import ROOT, written_files

ROW = re.compile(r"\b[AEFKOSTWZ]-\d{2}\b")


def rows_of(texts: list[str]) -> set[str]:
    return {row for text in texts for row in ROW.findall(text)}


RESTED_ON = rows_of([path.read_text() for path in written_files()])
TESTED = rows_of([path.read_text() for path in (ROOT / "tests").rglob("*.py")])


@pytest.mark.parametrize("row", sorted(RESTED_ON))
def test_what_is_rested_on_is_tested(row: str) -> None:
    assert row in TESTED, f"{row} is cited, and no test names it: hold its worked number, or cite it no longer."


def test_there_are_rows_to_hold() -> None:
    assert len(RESTED_ON) > 100
