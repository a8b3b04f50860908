"""Retention and clocks: the longest period wins, a hold beats all, and bad numbers are refused in words."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from clinic.rules.retention import (
    Severe,
    is_exempt_by_size,
    keep_years,
    plus_working_days,
    purge_offered_from,
    report_by,
    sharps_log_label,
    upkeep_keep_through,
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


def test_working_days_skip_weekends_and_holidays() -> None:
    friday = date(2026, 7, 2) + timedelta(days=1)
    assert plus_working_days(friday, 1) == date(2026, 7, 6)
    assert plus_working_days(date(2026, 7, 2), 1, {friday}) == date(2026, 7, 6)
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
