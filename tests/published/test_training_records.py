"""Training records held against what the published rules ask (rows O-01 to O-05 and O-20 to O-25 of the handbook). US federal
baseline. Marks: V read in the source, M from memory, D our own design."""

from dataclasses import fields, replace
from functools import cache

import pytest
from django.conf import settings

from tests.rules.shapes import d, standing, taught
from training.rules.facts import State
from training.rules.findings_records import DaysAllowed, exposed_before_training
from training.rules.library import Library, read_library
from training.rules.sessions import SessionRecord, missing
from training.rules.texts import ProcedureText

WHOLE = SessionRecord(
    days=["2026-03-10"], summary="Elements A to N.", trainer="Yusuf Karaca", qualification="Trained 2023.", language="English",
    handed_out="nothing", live_questions=True, demonstrated=None, attended=9, sources=["O-05"],
)  # fmt: skip


@cache
def library() -> Library:
    return read_library(settings.LIBRARY_DIR)


def text(code: str) -> ProcedureText:
    return next(each for each in library().procedures if each.code == code)


def state(code: str, day: str, *sessions: str) -> State:
    return standing([taught(each) for each in sessions], text(code).policy).on(d(day)).state


def test_without_the_training_nobody_may_from_the_first_day() -> None:
    """O-01, M: 29 CFR 1910.1030(g)(2)(i)-(ii)."""
    assert state("T01", "2026-03-10") is State.UNTRAINED


@pytest.mark.parametrize(("days", "found"), [(0, False), (1, True), (90, True)])
def test_a_role_that_allows_days_before_the_training_is_a_finding(days: int, found: bool) -> None:
    """O-01, M: 29 CFR 1910.1030(g)(2)(i)-(ii): at the time of initial assignment, before or at its start."""
    asked = [DaysAllowed("Dental assistant", "r", "Bloodborne pathogens (T01)", days, d("2026-03-02"))]
    assert [one.code for one in exposed_before_training(asked)] == (["exposed before training"] if found else [])


@pytest.mark.parametrize(
    ("trained", "last_good", "overdue"),
    [("2026-03-10", "2027-03-10", "2027-03-11"), ("2028-02-29", "2029-02-28", "2029-03-01")],
    ids=["O-02 V", "O-02 V leap day"],
)
def test_the_yearly_session_is_good_through_the_same_day_of_the_next_year(
    trained: str, last_good: str, overdue: str
) -> None:
    """O-02, V (paragraph letters M): 29 CFR 1910.1030(g)(2)(ii)(B), (iv)."""
    assert state("T01", last_good, trained).is_usable
    assert state("T01", overdue, trained) is State.LAPSED


def test_the_topic_holds_fourteen_lettered_elements_and_the_last_is_live() -> None:
    """O-04, M: 29 CFR 1910.1030(g)(2)(vii)(A)-(N)."""
    contents = text("T01").content.contents
    assert [line[:3] for line in contents] == [f"({letter})" for letter in "ABCDEFGHIJKLMN"]
    assert "Live questions" in contents[-1]


@pytest.mark.parametrize("said", [None, False])
def test_without_live_questions_a_session_does_not_count(said: bool | None) -> None:
    """O-04, M."""
    assert missing(replace(WHOLE, live_questions=said)) == ["live questions with the trainer"]


@pytest.mark.parametrize(
    ("field", "empty"),
    [("days", []), ("summary", " "), ("trainer", ""), ("qualification", ""), ("attended", 0)],
    ids=["dates", "contents or summary", "trainer's name", "trainer's qualification", "who attended"],
)
def test_taking_any_one_part_away_makes_the_record_incomplete(field: str, empty: object) -> None:
    """O-05, V: 29 CFR 1910.1030(h)(2)(i): dates, contents or summary, names and qualifications, names and job titles."""
    assert field in {each.name for each in fields(SessionRecord)}
    assert missing(WHOLE) == [] and len(missing(replace(WHOLE, **{field: empty}))) == 1


def test_a_name_without_the_job_title_of_that_day_makes_it_incomplete() -> None:
    """O-05, V."""
    assert missing(replace(WHOLE, untitled=["Wren Adeyemi"])) == ["the job title that Wren Adeyemi had that day"]


@pytest.mark.parametrize(("shown", "counts"), [(None, False), (False, False), (True, True)])
def test_five_points_without_a_demonstration_are_not_enough(shown: bool | None, counts: bool) -> None:
    """O-20, V: 29 CFR 1910.132(f)(1)(i)-(v) taught, and (f)(2) understanding and ability shown before the work."""
    rows = [source.row for source in text("T04").content.sources]
    assert (missing(replace(WHOLE, sources=rows, demonstrated=shown)) == []) is counts
    assert len(text("T04").content.contents) >= 5


def test_retraining_in_protective_equipment_names_its_three_reasons_and_no_yearly_day() -> None:
    """O-21, V: 29 CFR 1910.132(f)(3)(i)-(iii): the workplace changes, the equipment changes, knowledge or use shows gaps."""
    again = text("T04").content.again.lower()
    assert all(word in again for word in ("workplace", "equipment", "gaps"))
    assert text("T04").policy.renewal_months is None


def test_the_removed_certificate_is_named_nowhere_in_the_library() -> None:
    """O-22, V: 29 CFR 1910.132(f)(4) was removed in 2011 (76 FR 33590)."""
    files = sorted(settings.LIBRARY_DIR.rglob("*.yaml"))
    assert len(files) > 30
    assert not [path.name for path in files if "1910.132(f)(4)" in path.read_text(encoding="utf-8")]


def test_hazard_communication_is_not_repeated_by_the_calendar() -> None:
    """O-24, V: 29 CFR 1910.1200(h)(1): at first assignment and for a new hazard."""
    assert text("T03").policy.renewal_months is None and text("P18").policy.renewal_months is None
    assert state("T03", "2036-03-10", "2026-03-10").is_usable


def test_hazard_communication_names_four_points_of_training_and_three_of_information() -> None:
    """O-25, V: 29 CFR 1910.1200(h)(2)-(3)."""
    words = " ".join(text("T03").content.contents).lower()
    points = ("release", "hazard", "protect", "label", "rule", "where")
    assert [point for point in points if point not in words] == []
    assert len(text("T03").content.contents) >= 7
