"""The retention table as it is offered (handbook, section 1, rows O-06, O-12 and O-18): whichever is longer wins."""

from datetime import date, timedelta

import pytest

from clinic.rules.purging import (
    CHEMICALS,
    COMPETENCY,
    INJURIES,
    PHOTOS,
    SESSIONS,
    TABLE,
    is_over,
    last_kept,
    line_of,
    offered_from,
)

DAY = date(2026, 3, 14)


def test_an_injury_is_offered_from_the_day_after_its_five_years() -> None:
    """O-12, V: injury 2026-03-14 → keep through 2031-12-31; purge offered from 2032-01-01."""
    assert offered_from(line_of(INJURIES), DAY) == date(2032, 1, 1)
    assert last_kept(line_of(INJURIES), [DAY, date(2025, 6, 1)]) == date(2031, 12, 31)


def test_a_photo_goes_with_the_upkeep_log() -> None:
    """Own choice, D: three years from the entry."""
    assert offered_from(line_of(PHOTOS), DAY) == date(2029, 3, 15)


@pytest.mark.parametrize(("years", "first"), [(0, date(2029, 3, 15)), (2, date(2029, 3, 15)), (7, date(2033, 3, 15))])
def test_a_longer_period_wins_and_a_shorter_does_not(years: int, first: date) -> None:
    assert offered_from(line_of(PHOTOS), DAY, years) == first


def test_what_answers_rest_on_is_never_offered_and_says_why() -> None:
    never = [line for line in TABLE if line.why_not]
    assert {line.what for line in never} == {"sessions", "competency", "upkeep", "chemicals", "near misses"}
    assert all(offered_from(line, DAY) is None and line.why_not.startswith("Not offered:") for line in never)
    with pytest.raises(ValueError, match="are not purged"):
        last_kept(never[0], [DAY])


def test_a_record_waits_for_what_goes_with_it() -> None:
    line, today = line_of(PHOTOS), date(2029, 3, 15)
    assert is_over(line, [DAY], today) and not is_over(line, [DAY], today - timedelta(days=1))
    assert not is_over(line, [DAY, DAY + timedelta(days=1)], today)


def test_a_line_that_is_not_in_the_table_names_those_that_are() -> None:
    with pytest.raises(ValueError, match="There are injuries, photos, sessions"):
        line_of("everything")


@pytest.mark.parametrize(
    ("what", "day", "through"),
    [
        (SESSIONS, date(2026, 2, 28), date(2029, 2, 28)),  # O-06, V
        (INJURIES, date(2026, 3, 14), date(2031, 12, 31)),  # O-12, V
        (COMPETENCY, date(2027, 6, 30), date(2030, 6, 30)),  # own choice, D; covers O-06
        (CHEMICALS, date(2026, 12, 31), date(2056, 12, 31)),  # 29 CFR 1910.1020(d)(1)(ii)(B), V
    ],
)
def test_each_line_is_kept_through_the_day_that_the_handbook_gives(what: str, day: date, through: date) -> None:
    line = line_of(what)
    assert line.through and line.through(day) == through
