"""Retention and clocks: the longest period wins, a hold beats all, and bad numbers are refused in words."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from clinic.rules.retention import (
    Severe,
    is_exempt_by_size,
    keep_years,
    peak_headcount,
    plus_working_days,
    purge_offered_from,
    report_by,
    sharps_log_label,
    size_words,
    upkeep_keep_through,
    vaccine_words,
)


def test_the_longest_period_wins() -> None:
    assert purge_offered_from([date(2029, 1, 1), date(2031, 12, 31)]) == date(2032, 1, 1)


def test_a_legal_hold_beats_all() -> None:
    assert purge_offered_from([date(2029, 1, 1)], legal_hold=True) is None


def test_a_record_without_a_period_is_never_purged() -> None:
    with pytest.raises(ValueError, match="without a retention period"):
        purge_offered_from([])


def test_a_negative_period_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot be negative: -1 years"):
        keep_years(date(2026, 1, 1), -1)


def test_a_leap_day_is_kept_through_the_end_of_february() -> None:
    assert upkeep_keep_through(date(2028, 2, 29)) == date(2031, 2, 28)
    assert upkeep_keep_through(date(2028, 2, 29), years=4) == date(2032, 2, 29)


def test_the_reporting_clock_needs_a_time_zone() -> None:
    with pytest.raises(ValueError, match="needs a time zone"):
        report_by(Severe.DEATH, datetime(2026, 6, 1, 9, 30))  # noqa: DTZ001


def test_hours_pass_over_a_change_of_the_clocks() -> None:
    zone = ZoneInfo("America/Chicago")
    spring = report_by(Severe.ADMISSION, datetime(2026, 3, 7, 9, 30, tzinfo=zone))
    autumn = report_by(Severe.EYE_LOSS, datetime(2026, 10, 31, 9, 30, tzinfo=zone))
    assert (spring.hour, spring.day, autumn.hour, autumn.day) == (10, 8, 8, 1)
    assert spring.tzinfo is zone


def test_working_days_skip_weekends() -> None:
    friday = date(2026, 7, 2) + timedelta(days=1)
    assert plus_working_days(friday, 1) == date(2026, 7, 6)
    assert plus_working_days(date(2026, 7, 2), 1) == friday
    assert plus_working_days(friday, 0) == friday


def test_negative_counts_are_refused() -> None:
    with pytest.raises(ValueError, match="Working days cannot be negative"):
        plus_working_days(date(2026, 7, 2), -1)
    with pytest.raises(ValueError, match="headcount cannot be negative"):
        is_exempt_by_size(-1)


def test_a_log_that_is_no_duty_says_so() -> None:
    """O-11, V: 29 CFR 1910.1030(h)(5)(ii)."""
    assert sharps_log_label(True) == "Kept under 29 CFR 1910.1030(h)(5): contaminated sharps."
    assert sharps_log_label(False) == (
        "Kept voluntarily: the duty is only for employers who must keep a 29 CFR 1904 log."
    )


def test_nought_is_a_count() -> None:
    assert is_exempt_by_size(0)
    assert keep_years(date(2026, 1, 1), 0) == date(2026, 1, 1)


def test_the_offer_of_the_vaccine_is_named_from_the_first_day_through_its_last() -> None:
    """O-19, M: assignment Monday 2026-06-01, last working day Monday 2026-06-15. It says for whom, and asks nothing."""
    began = date(2026, 6, 1)
    said = {day: vaccine_words("Wren", began, began + timedelta(days=day)) for day in (-1, 0, 14, 15)}
    assert [bool(said[day]) for day in (-1, 0, 14, 15)] == [False, True, True, False]
    assert "Where the US federal rule holds" in said[0] and "is offered by 15 June 2026" in said[0]
    assert "Elsewhere follow the local code." in said[0]


def test_the_most_people_on_one_day_counts_each_once_and_only_days_of_the_year() -> None:
    days = [date(2025, 1, 1), date(2025, 6, 30), date(2025, 7, 1), date(2025, 12, 31)]
    two_jobs_at_once = [("a", date(2020, 1, 1), None), ("a", days[0], days[3])]
    one_after_the_other = [("b", days[0], days[1]), ("c", days[2], None)]
    assert peak_headcount([*two_jobs_at_once, *one_after_the_other], 2025) == 2
    assert peak_headcount([*two_jobs_at_once, ("b", days[0], days[2]), ("c", days[2], None)], 2025) == 3
    assert peak_headcount([("d", date(2026, 1, 1), None), ("e", date(2020, 1, 1), date(2024, 12, 31))], 2025) == 0


def test_the_number_of_people_says_whether_it_exempts_and_never_that_a_log_is_a_duty() -> None:
    """O-14, V: 29 CFR 1904.1: ten is exempt, eleven is not; O-15: another exemption goes by the kind of practice."""
    ten, eleven = (size_words(peak, 2025, date(2025, 1, 1)) for peak in (10, 11))
    assert "at most 10 people" in ten and "unless asked in writing by OSHA, BLS or the state" in ten
    assert "that is more. Another goes by the kind of practice" in eleven
    assert not any(word in ten + eleven for word in ("must", "required", "requires"))


def test_of_a_year_that_the_register_does_not_know_whole_it_says_no_exemption() -> None:
    said = size_words(4, 2025, date(2025, 1, 2))
    assert said.startswith("This register does not know all of 2025.") and "count for yourself" in said
    assert "exempt from" not in said
