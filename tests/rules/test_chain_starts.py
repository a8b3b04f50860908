"""Limits of founding grants and carried-over records: all design choices (D)."""

from datetime import date

import pytest

from training.rules.grants import last_carried_over_day, last_founding_day, spread

START = date(2026, 1, 31)


def test_a_founding_grant_lasts_twelve_months_or_ninety_days_side_by_side() -> None:
    assert last_founding_day(START, side_by_side=False) == date(2027, 1, 31)
    assert last_founding_day(START, side_by_side=True) == date(2026, 5, 1)


def test_a_carried_over_record_is_good_180_days() -> None:
    assert last_carried_over_day(START) == date(2026, 7, 30)


@pytest.mark.parametrize(
    ("index", "count", "last"),
    [
        (0, 1, date(2026, 7, 30)),
        (0, 2, date(2026, 4, 1)),
        (1, 2, date(2026, 7, 30)),
        (0, 3, date(2026, 4, 1)),
        (1, 3, date(2026, 5, 31)),
        (2, 3, date(2026, 7, 30)),
        (1, 8, date(2026, 4, 18)),
    ],
)
def test_carried_over_records_end_evenly_from_the_60th_to_the_180th_day(index: int, count: int, last: date) -> None:
    assert spread(START, index, count) == last
