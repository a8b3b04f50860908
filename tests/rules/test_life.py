"""The life of a sign-off, rule by rule.

Checked against outside sources where one is named: 42 CFR 493.1413(b)(9) and 493.1451(b)(9) (competency twice in the
first year, then yearly), 29 CFR 1910.1030(g)(2)(ii)(B) (training at least annually). Days by hand.
"""

from dataclasses import replace
from datetime import date

import pytest

from tests.rules.shapes import (
    EASY,
    carried,
    d,
    founded,
    met,
    procedure,
    signed,
    standing,
    states,
    taught,
    upkeep,
    watched,
    withdrawn,
)
from training.rules.facts import Ending, Method, Outcome, PersonFacts, Policy
from training.rules.life import Life
from training.rules.standing import timelines

FIRST_YEAR = replace(EASY, first_year_months=6)
IDLE = replace(EASY, idle_days=183)


def until(facts: list, *policies: Policy) -> list[date | None]:
    return [life.valid_until for life in standing(facts, *policies).signoffs]


def last(facts: list, *policies: Policy) -> Life:
    return standing(facts, *policies).signoffs[-1]


def test_the_first_year_is_twice_then_yearly_when_renewed_on_time() -> None:
    # 42 CFR 493.1413(b)(9): at least twice in the first year, at least yearly after it
    facts = [signed("2026-01-15"), signed("2026-07-10"), signed("2027-01-15")]
    assert until(facts, FIRST_YEAR) == [d("2026-07-15"), d("2027-01-15"), d("2028-01-15")]


@pytest.mark.parametrize(("on", "good"), [("2026-03-10", "2027-03-10"), ("2028-02-29", "2029-02-28")])
def test_a_topic_taught_lasts_a_year_to_the_day(on: str, good: str) -> None:
    # 29 CFR 1910.1030(g)(2)(ii)(B): within one year of the previous training
    assert until([taught(on)]) == [d(good)]


def test_183_idle_days_after_10_january_are_good_on_12_july_and_lapsed_on_13() -> None:
    assert states(standing([signed("2026-01-10")], IDLE))[-1] == ("2026-07-13", "lapsed")


def test_the_month_after_31_january_is_clamped() -> None:
    assert until([signed("2026-01-31")], replace(EASY, renewal_months=1)) == [d("2026-02-28")]


def test_a_sign_off_is_alive_from_its_day_even_when_it_starts_later() -> None:
    second = last([signed("2026-01-15"), signed("2027-01-10")])
    assert (second.start, second.is_alive(d("2027-01-10"))) == (d("2027-01-15"), True)


def test_early_renewal_in_the_notice_days_costs_nothing() -> None:
    assert last([signed("2026-01-15"), signed("2026-12-16")]).start == d("2027-01-15")


def test_before_the_notice_days_a_renewal_starts_on_its_own_day() -> None:
    assert last([signed("2026-01-15"), signed("2026-12-15")]).start == d("2026-12-15")


def test_a_renewal_after_the_last_day_starts_on_its_own_day() -> None:
    assert last([signed("2026-01-15"), signed("2027-01-16")]).start == d("2027-01-16")


def test_a_sign_off_after_a_withdrawal_starts_on_its_own_day() -> None:
    assert last([signed("2026-01-15"), withdrawn("2027-01-01"), signed("2027-01-10")]).start == d("2027-01-10")


def test_the_first_year_begins_again_after_a_withdrawal() -> None:
    facts = [signed("2026-01-15"), withdrawn("2027-03-01"), signed("2027-03-02")]
    assert until(facts, FIRST_YEAR)[-1] == d("2027-09-02")


def test_a_carried_over_record_begins_the_first_year_on_its_original_day() -> None:
    facts = [carried("2026-01-01", "2025-02-01", "2026-06-01"), signed("2026-02-03")]
    assert until(facts, FIRST_YEAR)[-1] == d("2027-02-03")


def test_a_founding_grant_does_not_begin_the_first_year() -> None:
    facts = [founded("2026-01-01", "2026-12-01"), signed("2027-02-03")]
    assert until(facts, FIRST_YEAR)[-1] == d("2027-08-03")


@pytest.mark.parametrize(
    "given", [founded("2026-01-01", "2026-03-01"), carried("2026-01-01", "2025-12-01", "2026-03-01")]
)
def test_what_is_not_signed_gives_no_early_start(given: object) -> None:
    assert last([given, signed("2026-02-20")]).start == d("2026-02-20")


def test_on_the_same_version_a_renewal_never_ends_earlier_than_what_it_renews() -> None:
    # signed in month 12 from the first: 24 months; renewed the next week before the notice days: not shortened
    policy = replace(EASY, renewal_months=24, first_year_months=36)
    facts = [signed("2026-01-15"), signed("2027-01-20")]
    assert until(facts, policy) == [d("2029-01-15"), d("2029-01-20")]
    assert until([signed("2026-01-15"), signed("2027-01-10")], policy)[-1] == d("2029-01-15")


def test_on_another_version_a_renewal_may_end_earlier() -> None:
    shorter = replace(EASY, renewal_months=1)
    assert until([signed("2026-12-20"), signed("2027-01-05", 2)], EASY, shorter)[-1] == d("2027-02-05")


def test_never_by_the_calendar_has_no_last_day() -> None:
    life = last([signed("2026-01-15")], replace(EASY, renewal_months=None))
    assert (life.valid_until, life.last_day, life.ending) == (None, None, None)


def test_a_later_version_that_asks_re_observation_ends_the_earlier_sign_off() -> None:
    life = last([signed("2026-12-01")], EASY, replace(EASY, reobserve_days=30))
    assert (life.last_day, life.ending, life.deadline) == (d("2027-01-31"), Ending.DEADLINE, 2)


def test_a_later_version_that_asks_none_ends_nothing() -> None:
    assert last([signed("2026-12-01")], EASY, EASY).ending is Ending.VALID_UNTIL


@pytest.mark.parametrize("again", [met("2026-07-12"), watched("2026-07-12"), upkeep("2026-07-12")])
def test_a_performance_on_the_last_idle_day_runs_it_on(again: object) -> None:
    assert last([signed("2026-01-10"), again], IDLE).last_day == d("2027-01-10")


@pytest.mark.parametrize("late", [met("2026-07-13"), watched("2026-07-13"), upkeep("2026-07-13")])
def test_a_performance_after_the_idle_limit_brings_nothing_back(late: object) -> None:
    assert last([signed("2026-01-10"), late], IDLE).last_day == d("2026-07-12")


@pytest.mark.parametrize(
    "other",
    [
        met("2026-05-01", assessment=False),
        met("2026-05-01", outcome=Outcome.INCOMPLETE),
        met("2026-05-01", method=Method.TALK),
    ],
)
def test_only_met_assessments_by_a_method_that_counts_are_performances(other: object) -> None:
    real = frozenset({Method.REAL})
    policy = replace(IDLE, methods=real, renewal_methods=real)
    assert last([signed("2026-01-10"), other], policy).last_day == d("2026-07-12")


def test_upkeep_on_hold_is_no_performance() -> None:
    policy = replace(IDLE, prerequisites=("P01",))
    facts = {
        "P03": (signed("2026-01-10"), upkeep("2026-05-01")),
        "P01": (signed("2026-01-05"), withdrawn("2026-04-01")),
    }
    found = timelines({"P03": procedure("P03", policy), "P01": procedure("P01")}, PersonFacts("amina", facts))
    assert found["P03"].signoffs[0].last_day == d("2026-07-12")


def test_on_a_tie_the_deadline_is_named_before_idle_and_valid_until() -> None:
    first = replace(EASY, idle_days=365, renewal_months=12)
    life = last([signed("2026-01-31")], first, replace(EASY, reobserve_days=30))
    assert (life.last_day, life.ending) == (d("2027-01-31"), Ending.DEADLINE)


def test_on_a_tie_idle_is_named_before_valid_until() -> None:
    assert last([signed("2026-01-31")], replace(EASY, idle_days=365)).ending is Ending.IDLE


def test_a_carried_over_record_ends_on_its_own_day_and_by_idle_days() -> None:
    given = carried("2026-01-01", "2024-01-01", "2026-06-30")
    assert last([given], IDLE).last_day == d("2026-06-30")
    assert last([given], replace(IDLE, idle_days=10)).last_day == d("2026-01-11")


def test_a_carried_over_record_after_a_sign_off_has_no_effect() -> None:
    found = standing([signed("2026-01-15"), carried("2026-02-01", "2024-01-01", "2026-03-01")])
    assert [life.fact.day for life in found.signoffs] == [d("2026-01-15")]


def test_a_founding_grant_has_no_effect_while_a_sign_off_is_alive() -> None:
    found = standing([signed("2026-01-15"), founded("2027-01-15", "2027-03-01"), founded("2027-01-16", "2027-03-01")])
    assert [life.fact.day for life in found.signoffs] == [d("2026-01-15"), d("2027-01-16")]


def test_nothing_is_signed_before_the_first_version_is_in_force() -> None:
    assert standing([signed("2025-12-31"), founded("2025-12-31", "2026-12-31")]).signoffs == ()


def test_a_performance_by_a_renewal_method_counts_too() -> None:
    policy = replace(IDLE, methods=frozenset({Method.REAL}), renewal_methods=frozenset({Method.TALK}))
    assert last([signed("2026-01-10"), met("2026-07-12", method=Method.TALK)], policy).last_day == d("2027-01-10")


def test_the_life_of_a_sign_off_follows_the_version_signed() -> None:
    found = until([signed("2026-12-20"), signed("2027-03-01", 2)], EASY, replace(EASY, renewal_months=24))
    assert found == [d("2027-12-20"), d("2029-03-01")]


@pytest.mark.parametrize(("on", "ends"), [("2026-12-20", "2027-03-01"), ("2027-01-02", "2027-01-12")])
def test_a_founding_grant_follows_the_version_in_force_on_its_day(on: str, ends: str) -> None:
    assert last([founded(on, "2027-03-01")], EASY, replace(EASY, idle_days=10)).last_day == d(ends)


def test_a_later_sign_off_made_after_a_lapse_does_not_renew_it() -> None:
    policy = replace(EASY, renewal_months=24, first_year_months=6)
    assert until([signed("2026-01-15"), signed("2026-08-01")], policy) == [d("2026-07-15"), d("2027-02-01")]


def test_the_idle_limit_stands_beside_an_earlier_end() -> None:
    life = last([signed("2026-01-10"), met("2026-12-01")], replace(EASY, idle_days=400))
    assert (life.last_day, life.idle_until) == (d("2027-01-10"), d("2028-01-05"))
