"""When a paper was reviewed last, and when the year is over."""

from datetime import date

import pytest

from training.rules.reviews import last_review, paper_reviewed, review_is_late


@pytest.mark.parametrize(
    ("reviewed", "last_good"),
    [
        (date(2026, 1, 5), date(2027, 1, 5)),  # O-08, V: 29 CFR 1910.1030(c)(1)(iv)
        (date(2027, 6, 1), date(2028, 6, 1)),  # over a leap day, of 366 days
        (date(2028, 2, 29), date(2029, 2, 28)),
    ],
)
def test_a_review_is_good_through_the_same_day_of_the_next_year(reviewed: date, last_good: date) -> None:
    assert not review_is_late(reviewed, last_good)
    assert review_is_late(reviewed, date.fromordinal(last_good.toordinal() + 1))


def test_what_was_never_reviewed_is_not_late() -> None:
    assert not review_is_late(None, date(2030, 1, 1))


def test_the_later_of_the_day_noted_and_the_task_logged_counts() -> None:
    logged = {paper_reviewed("Exposure control plan review"): date(2026, 3, 2)}
    assert last_review("Exposure Control Plan", date(2026, 1, 5), logged) == date(2026, 3, 2)
    assert last_review("Exposure Control Plan", date(2026, 4, 1), logged) == date(2026, 4, 1)
    assert last_review("Fit tests", None, logged) is None
