"""The table of rows on signatures and web safety: no row without a test or a reason, no test that is not there."""

import ast

import pytest

from tests.house.sources import ROOT
from tests.published.safety_rows import SIGNATURE_ROWS, WEB_ROWS

EVERY = SIGNATURE_ROWS | WEB_ROWS
# ASVS ids of the handbook's own choice, part 7.1; several stand in one line there.
WEB_IDS = """
1.2.1 1.2.4 1.2.10 1.3.7 2.2.1 2.2.2 2.3.1 2.3.3 2.4.1 3.3.1 3.3.2 3.3.3 3.3.4 3.4.1 3.4.3 3.4.4 3.4.5 3.4.6 3.5.1 3.5.3
4.1.1 5.2.1 5.2.2 5.3.2 5.4.1 5.4.2 6.1.1 6.2.1 6.2.2 6.2.3 6.2.4 6.2.5 6.2.7 6.2.8 6.2.9 6.2.10 6.2.12 6.3.1 6.3.2 6.4.1
6.4.2 7.2.4 7.3.1 7.3.2 7.4.1 7.4.2 7.4.4 7.5.1 8.2.1 8.2.2 8.2.3 8.3.1 8.4.1 11.4.2 11.5.1 13.4.2 14.2.1 14.3.2 15.3.3
16.2.1 16.2.2 16.3.1 16.3.2 16.3.3 16.4.1 16.4.2 16.5.1 16.5.3
"""


def is_there(test: str) -> bool:
    module, _, name = test.partition("::")
    place = ROOT / "tests" / module
    return place.exists() and any(
        isinstance(node, ast.FunctionDef) and node.name == name for node in ast.parse(place.read_text()).body
    )


def test_every_row_stands_in_the_table() -> None:
    """Rows E-01 to E-28, and the rows of OWASP ASVS 5.0.0 that the handbook chose."""
    assert list(SIGNATURE_ROWS) == [f"E-{n:02d}" for n in range(1, 29)]
    assert sorted(WEB_ROWS) == sorted(WEB_IDS.split())


@pytest.mark.parametrize("row", EVERY)
def test_a_row_has_tests_that_exist_or_words_that_say_why_not(row: str) -> None:
    held = EVERY[row]
    if isinstance(held, str):
        assert len(held.split()) > 8, f"{row}: say why in a sentence"
    else:
        assert held and [test for test in held if not is_there(test)] == []


def test_a_test_that_is_not_there_would_be_found() -> None:
    assert is_there("published/test_safety_rows.py::test_a_test_that_is_not_there_would_be_found")
    assert not is_there("published/test_safety_rows.py::test_of_nothing") and not is_there("nowhere.py::test_x")
