"""Coverage on paper: every duty with its words, none cut in two, and the numbers of the page."""

from datetime import date, timedelta

import pytest

from tests.documents.pieces import PAPERS
from tests.documents.reading import read, words
from training.documents.cover_sheet import CoverLine, CoverSheet, build
from training.rules.coverage import DutyCoverage, DutyDay
from training.rules.drawing import cover_picture

FIRST = date(2026, 11, 25)
AFTER = FIRST + timedelta(days=90)


def line(name: str, people: int = 3, says: str = "Covered on every working day.") -> CoverLine:
    days = tuple(DutyDay(FIRST + timedelta(days=n), tuple("abcdef"[:people]), 2, (), ()) for n in range(90))
    return CoverLine(name, says, cover_picture(DutyCoverage(name, days, None), FIRST, AFTER))


def sheet(*lines: CoverLine, paper: str = "A4") -> CoverSheet:
    return CoverSheet(
        paper, "en-GB", "High Street", "working days from 25 Nov 2026", "Of nine duties, one falls.", lines
    )


@pytest.mark.parametrize("paper", PAPERS)
def test_every_duty_stands_there_with_its_words_and_pages_count(paper: str) -> None:
    data = build(sheet(*(line(f"Duty {n}", says="It falls short. " * 12) for n in range(1, 31)), paper=paper))
    pages, shown = read(data).pages, words(data)
    assert all(f"Duty {n} " in shown for n in range(1, 31))
    assert f"page {len(pages)} of {len(pages)}" in shown and len(pages) > 2


def test_the_number_of_people_stands_over_its_column() -> None:
    assert "5" in words(build(sheet(line("Tool swap", people=5)))).split()


def test_without_a_duty_one_page_says_so() -> None:
    data = build(sheet())
    assert len(read(data).pages) == 1 and "Of nine duties, one falls." in words(data)


def test_the_same_sheet_is_the_same_bytes() -> None:
    assert build(sheet(line("Tool swap"))) == build(sheet(line("Tool swap")))
