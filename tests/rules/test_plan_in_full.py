"""The plan line by line: what stands beyond the programme, in which order, due when, with which evidence."""

from dataclasses import replace

import pytest

from tests.rules.shapes import EASY, d, met, procedure
from tests.rules.test_plan import DAY, ON_P01, TWO_DAYS, finish, lines, required
from training.rules.facts import PersonFacts, State
from training.rules.plan import PlanLine, plan
from training.rules.standing import evidence_on, timelines


def test_a_line_carries_all_that_is_asked_of_it() -> None:
    programme = {"P03": procedure("P03", ON_P01), "P01": procedure("P01")}
    found = timelines(programme, PersonFacts("amina", {"P03": (met("2026-03-09"),)}))
    day, due = d(DAY), d("2026-03-31")
    details = {code: evidence_on(found[code], day) for code in programme}
    assert plan([required("P03")], programme, found, day) == (
        PlanLine("P01", due, False, ("P03",), (), State.UNTRAINED, details["P01"], day, day),
        PlanLine("P03", due, True, (), ("P01",), State.LEARNING, details["P03"], day, day),
    )


def test_a_prerequisite_beyond_the_programme_is_named_and_never_reached() -> None:
    (line,) = lines([required("P03")], [procedure("P03", ON_P01)]).values()
    assert (line.rests_on, line.due, line.earliest_finish) == (("P01",), d("2026-03-31"), None)


def test_a_prerequisite_comes_first_whatever_its_code() -> None:
    programme = [procedure("P03", replace(EASY, prerequisites=("P09",))), procedure("P09")]
    assert list(lines([required("P03")], programme)) == ["P09", "P03"]


@pytest.mark.parametrize("days", [(30, 60), (60, 30)])
def test_the_earlier_of_two_roles_decides_whichever_comes_first(days: tuple[int, int]) -> None:
    assert lines([required("P03", each) for each in days], [procedure("P03")])["P03"].due == d("2026-03-31")


def test_a_prerequisite_due_earlier_by_itself_stays_so() -> None:
    found = lines([required("P03", 30), required("P01", 5)], [procedure("P03", ON_P01), procedure("P01")])
    assert [line.due for line in found.values()] == [d("2026-03-06"), d("2026-03-31")]


@pytest.mark.parametrize(("retired", "codes"), [("2026-03-10", ["P03"]), ("2026-03-11", ["P01", "P03"])])
def test_a_prerequisite_is_asked_until_the_day_it_is_retired(retired: str, codes: list[str]) -> None:
    programme = [procedure("P03", ON_P01), procedure("P01", retired_on=d(retired))]
    assert list(lines([required("P03")], programme)) == codes


@pytest.mark.parametrize(("asked", "day"), [(0, "2026-01-01"), (1, "2026-01-01"), (2, "2026-01-02"), (3, "2026-01-02")])
def test_the_distinct_days_before_the_first_version_are_counted_from_it(asked: int, day: str) -> None:
    assert finish([], replace(EASY, needed=2, distinct_days=asked), day="2025-12-30") == day


def test_both_days_that_count_are_enough_though_one_is_today() -> None:
    assert finish([met("2026-03-09"), met(DAY)]) == DAY


def test_a_day_of_mere_practice_is_still_free_for_an_assessment() -> None:
    assert finish([met(DAY, assessment=False)], TWO_DAYS) == "2026-03-11"
