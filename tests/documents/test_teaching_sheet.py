"""The ten days on paper: one page whatever stands on it, the same bytes each time."""

import pytest

from tests.documents.pieces import PAPERS
from tests.documents.reading import read, words
from training.documents.teaching_sheet import SheetDay, TeachingSheet, build

LINE = "Moisture check of the suction (P12). Show, say why, let try, watch twice and sign off: Nora Quill."


def sheet(lines: int = 4, after: int = 3, paper: str = "A4") -> TeachingSheet:
    days = [SheetDay(f"Mon {n} Mar", [LINE] * lines) for n in range(1, 11)]
    says = "Prerequisites first."
    return TeachingSheet(paper, "en-GB", "Amina Khan", "High Street", "Six of nine.", says, days, [LINE] * after)


@pytest.mark.parametrize("paper", PAPERS)
def test_ten_full_days_stand_on_one_page(paper: str) -> None:
    data = build(sheet(paper=paper, after=12))
    shown = words(data)
    assert len(read(data).pages) == 1
    assert all(f"Mon {n} Mar" in shown for n in range(1, 11)) and "After these days" in shown
    assert "What follows stands on the page" not in shown


def test_what_cannot_stand_on_the_page_is_said() -> None:
    data = build(sheet(lines=30))
    assert len(read(data).pages) == 1 and "What follows stands on the page of these days." in words(data)


def test_the_same_days_are_the_same_bytes() -> None:
    assert build(sheet()) == build(sheet())
