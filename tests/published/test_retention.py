"""Handbook section 1 and row K-02: days that the law or the handbook fixes.

Marks: V read in the source, M from memory, D own design. US federal baseline.
"""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from clinic.rules.days import plus_months
from clinic.rules.retention import (
    EXEMPT_NOTE,
    Severe,
    bbp_training_keep_through,
    competency_keep_through,
    exposure_keep_through,
    hepatitis_b_offer_by,
    is_exempt_by_size,
    medical_keep_through,
    purge_offered_from,
    report_by,
    report_from,
    sharps_log_keep_through,
    upkeep_keep_through,
    yearly_due,
)
from tests.published.vectors import VECTORS

DATES = VECTORS["dates"]


def day(text: str) -> date:
    return date.fromisoformat(text)


@pytest.mark.parametrize(("trained", "last_good"), DATES["bbp_due"], ids=["O-02 V", "O-02 V leap day"])
def test_bloodborne_pathogen_training_is_good_for_a_year(trained: str, last_good: str) -> None:
    """29 CFR 1910.1030(g)(2): annual frequency V, paragraph letters M; overdue the day after."""
    assert yearly_due(day(trained)) == day(last_good)


def test_the_exposure_control_plan_is_reviewed_yearly() -> None:
    """O-08, V: 29 CFR 1910.1030(c)(1)(iv)."""
    assert yearly_due(date(2026, 1, 5)) == date(2027, 1, 5)


def test_training_records_are_kept_three_years() -> None:
    """O-06, V: 29 CFR 1910.1030(h)(2)(ii); a purge is not offered before 2029-02-28."""
    kept = bbp_training_keep_through(date(2026, 2, 28))
    assert kept == date(2029, 2, 28)
    assert purge_offered_from([kept]) > kept


def test_the_sharps_log_is_kept_five_years_after_its_year() -> None:
    """O-12, V: 29 CFR 1904.33(a); a purge is offered from 2032-01-01."""
    ((injured, kept),) = DATES["sharps_keep_through"]
    assert sharps_log_keep_through(day(injured)) == day(kept)
    assert purge_offered_from([day(kept)]) == date(2032, 1, 1)


@pytest.mark.parametrize(("peak", "exempt"), [(10, True), (11, False)], ids=["O-14 V", "O-14 V"])
def test_ten_employees_are_partly_exempt_and_eleven_not(peak: int, exempt: bool) -> None:
    """29 CFR 1904.1."""
    assert is_exempt_by_size(peak) is exempt


def test_an_exemption_says_unless_asked_in_writing() -> None:
    """O-15, V in part: 29 CFR 1904.2."""
    assert "unless asked in writing by OSHA, BLS or the state" in EXEMPT_NOTE


CHICAGO = ZoneInfo("America/Chicago")


def test_an_amputation_is_reported_within_a_day() -> None:
    """O-16, V: 29 CFR 1904.39; learned 2026-06-01 09:30, by 2026-06-02 09:30 local."""
    learned = datetime(2026, 6, 1, 9, 30, tzinfo=CHICAGO)
    assert report_by(Severe.AMPUTATION, learned) == datetime(2026, 6, 2, 9, 30, tzinfo=CHICAGO)


def test_the_hours_run_from_the_event_or_from_when_it_was_learned_of() -> None:
    """O-16: 29 CFR 1904.39(a), V; (b)(7) and (b)(8), from memory: learned later, the hours run from then."""
    event, learned, filed = (datetime(2026, 6, day, 9, 30, tzinfo=CHICAGO) for day in (1, 2, 4))
    assert report_from(event, None, filed) == event
    assert report_from(event, learned, filed) == learned
    assert report_from(None, None, filed) == filed


@pytest.mark.parametrize("event", list(Severe), ids="O-16 V {}".format)
def test_a_death_is_reported_within_eight_hours_and_the_rest_within_24(event: Severe) -> None:
    learned = datetime(2026, 6, 1, 9, 30, tzinfo=CHICAGO)
    assert report_by(event, learned) - learned == timedelta(hours=8 if event is Severe.DEATH else 24)


def test_a_medical_record_is_kept_thirty_years_after_employment() -> None:
    """O-18, V: 29 CFR 1910.1020(d)(1)(i)."""
    assert medical_keep_through(date(2027, 6, 30)) == date(2057, 6, 30)


def test_hepatitis_b_vaccine_is_offered_within_ten_working_days() -> None:
    """O-19, M: 29 CFR 1910.1030(f)(2); Monday 2026-06-01 → Monday 2026-06-15."""
    assert hepatitis_b_offer_by(date(2026, 6, 1)) == date(2026, 6, 15)


def test_the_retention_table() -> None:
    """Section 1, the table: own choice D, chemical list V (29 CFR 1910.1020(d)(1)(ii)(B))."""
    assert competency_keep_through(date(2027, 6, 30)) == date(2030, 6, 30)
    assert exposure_keep_through(date(2026, 12, 31)) == date(2056, 12, 31)
    assert upkeep_keep_through(date(2026, 5, 4)) == date(2029, 5, 4)


def test_a_first_year_asks_six_and_twelve_months_and_then_yearly() -> None:
    """K-02, V: 42 CFR 493.1413(b)(9), a borrowed pattern that binds no dental practice."""
    start, dues = DATES["clia_like"]
    assert [plus_months(day(start), months) for months in (6, 12, 24)] == [day(due) for due in dues]
