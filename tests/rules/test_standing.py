"""The states of standing, the order of facts, what ends a stretch of working alone, and the laws that hold for any history."""

from dataclasses import replace
from datetime import date, time, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.rules.amount import examples
from tests.rules.shapes import (
    EASY,
    carried,
    check,
    d,
    founded,
    instant,
    met,
    missed,
    procedure,
    signed,
    standing,
    states,
    taught,
    version,
    void,
    withdrawn,
)
from training.rules.facts import Basis, Ending, Evidence, Fact, PersonFacts, Policy, ProcedureFacts, State
from training.rules.standing import Standing, same_day_allowed, timelines, valid_until_if_signed

ON_TOP = replace(EASY, prerequisites=("P01",))


def on(facts: list, day: str, *policies: Policy, **given: object) -> State:
    return standing(facts, *policies, **given).on(d(day)).state


def rests(above: tuple[Fact, ...], below: tuple[Fact, ...], policy: Policy = ON_TOP, **retired: object) -> Standing:
    """The standing in P03, which rests on P01."""
    programme = {"P03": procedure("P03", policy), "P01": procedure("P01", **retired)}
    return timelines(programme, PersonFacts("amina", {"P03": above, "P01": below}))["P03"]


def test_somebody_without_facts_is_untrained() -> None:
    assert states(standing([])) == []


def test_a_whole_life_reads_from_untrained_to_lapsed() -> None:
    policy = replace(EASY, needed=2)
    facts = [met("2026-03-02"), met("2026-03-03"), signed("2026-03-04")]
    assert states(standing(facts, policy)) == [
        ("2026-03-02", "learning"),
        ("2026-03-03", "ready"),
        ("2026-03-04", "current"),
        ("2027-02-02", "due"),
        ("2027-03-05", "lapsed"),
    ]


def test_evidence_that_grows_too_old_leaves_somebody_untrained_again() -> None:
    found = standing([met("2026-03-02")], replace(EASY, needed=2, window_days=30))
    assert states(found) == [("2026-03-02", "learning"), ("2026-04-02", "untrained")]
    assert found.spans[-1].cause == "window"


def test_evidence_stops_counting_after_the_re_observe_days_of_a_later_version() -> None:
    found = standing([met("2026-12-02")], EASY, replace(EASY, reobserve_days=30))
    assert states(found) == [("2026-12-02", "ready"), ("2027-02-01", "untrained")]


def test_a_supervisor_who_leaves_can_make_the_evidence_enough() -> None:
    policy = replace(EASY, needed=2, distinct_supervisors=2)
    person = PersonFacts("amina", {"P03": (met("2026-03-02"), met("2026-03-03"))}, {"P03": ((d("2026-04-01"), 1),)})
    found = timelines({"P03": procedure("P03", policy)}, person)["P03"]
    assert states(found)[1] == ("2026-04-01", "ready")
    assert found.spans[2].cause == "offered"


def test_a_prerequisite_can_make_somebody_ready() -> None:
    found = rests((met("2026-03-02"),), (signed("2026-03-05"),))
    assert (states(found)[1], found.spans[2].cause) == (("2026-03-05", "ready"), "prerequisite:P01")


def test_after_twelve_months_a_lapsed_sign_off_asks_first_evidence_again() -> None:
    policy = replace(EASY, needed=2)
    found = standing([signed("2026-03-02"), met("2028-02-01")], policy)
    said = [(span.first.isoformat(), span.state.value) for span in found.evidence[1:]]
    assert said == [("2028-02-01", "enough"), ("2028-03-03", "some"), ("2029-02-01", "none")]


def test_the_newest_withdrawal_decides_until_a_new_sign_off() -> None:
    facts = [signed("2026-03-02"), withdrawn("2026-04-01"), signed("2026-05-01")]
    assert [on(facts, day) for day in ("2026-04-30", "2026-05-01")] == [State.WITHDRAWN, State.CURRENT]


def test_withdrawn_goes_before_lapsed() -> None:
    found = standing([signed("2026-03-02"), withdrawn("2027-03-03")])
    assert (found.spans[-2].ends_on, found.spans[-2].ends_because) == (d("2027-03-02"), Ending.WITHDRAWAL)


def test_everything_is_untrained_before_the_first_version_is_in_force() -> None:
    facts = [met("2025-12-01"), withdrawn("2025-12-15")]
    assert [on(facts, day) for day in ("2025-12-31", "2026-01-01")] == [State.UNTRAINED, State.WITHDRAWN]


def test_a_critical_miss_does_not_end_the_sign_off() -> None:
    assert on([signed("2026-03-02"), missed("2026-03-03")], "2026-03-03") is State.CURRENT


@pytest.mark.parametrize(
    ("fact", "basis"),
    [
        (signed("2026-03-02"), Basis.OBSERVED),
        (taught("2026-03-02"), Basis.TAUGHT),
        (carried("2026-03-02", "2025-01-01", "2026-06-01"), Basis.CARRIED_OVER),
        (founded("2026-03-02", "2026-06-01"), Basis.FOUNDING),
    ],
)
def test_the_basis_says_how_it_came_to_be_signed(fact: Fact, basis: Basis) -> None:
    assert standing([fact]).on(d("2026-03-02")).basis is basis


def test_on_hold_while_a_prerequisite_is_not_usable() -> None:
    found = rests((signed("2026-03-04"),), (signed("2026-03-02"), withdrawn("2026-04-01"), signed("2026-05-01")))
    assert [found.on(d(day)).state for day in ("2026-03-31", "2026-04-01", "2026-05-01")] == [
        State.CURRENT,
        State.ON_HOLD,
        State.CURRENT,
    ]


def test_the_grace_days_come_before_the_hold() -> None:
    below = signed("2026-03-02"), withdrawn("2026-04-01")
    found = rests((signed("2026-03-04"),), below, replace(ON_TOP, grace_days=5))
    assert [found.on(d(day)).state for day in ("2026-04-05", "2026-04-06")] == [State.CURRENT, State.ON_HOLD]


def test_a_stretch_that_a_prerequisite_ends_names_it() -> None:
    found = rests((signed("2026-03-04"),), (signed("2026-03-02"), withdrawn("2026-04-01"))).on(d("2026-03-10"))
    assert (found.ends_on, found.ends_because, found.ends_by) == (d("2026-03-31"), Ending.PREREQUISITE, "P01")


def test_a_retired_procedure_no_longer_counts_as_a_prerequisite() -> None:
    below = signed("2026-03-02"), withdrawn("2026-04-01")
    found = rests((signed("2026-03-04"),), below, retired_on=d("2026-04-10"))
    assert [found.on(d(day)).state for day in ("2026-04-09", "2026-04-10")] == [State.ON_HOLD, State.CURRENT]


def test_a_prerequisite_that_nobody_approved_is_never_usable() -> None:
    found = timelines({"P03": procedure("P03", ON_TOP)}, PersonFacts("amina", {"P03": (signed("2026-03-04"),)}))
    assert found["P03"].on(d("2026-03-04")).cause == "prerequisite:P01"


def test_a_renewal_in_time_prolongs_the_stretch() -> None:
    found = standing([signed("2026-03-02"), signed("2027-03-01")]).on(d("2026-03-02"))
    assert (found.ends_on, found.ends_because) == (d("2028-03-02"), Ending.VALID_UNTIL)


def test_the_cause_of_a_lapse_is_what_ended_it() -> None:
    later = replace(EASY, reobserve_days=30)
    found = standing([signed("2026-12-01")], EASY, later)
    assert (found.spans[-1].cause, found.spans[-2].ends_by) == ("deadline:2", "2")


def test_the_cause_of_working_alone_is_the_sign_off() -> None:
    assert standing([signed("2026-03-02", id="s")]).on(d("2027-02-20")).cause == "s"


def test_facts_of_a_day_are_ordered_by_time_and_those_without_one_come_last() -> None:
    assert on([withdrawn("2026-03-02"), signed("2026-03-02", at="10:00")], "2026-03-02") is State.WITHDRAWN
    assert on([withdrawn("2026-03-02", at="09:00"), signed("2026-03-02", at="10:00")], "2026-03-02") is State.CURRENT


def test_facts_of_the_same_time_are_ordered_by_when_they_were_recorded() -> None:
    facts = [signed("2026-03-02", recorded="2026-03-02T15:00"), withdrawn("2026-03-02", recorded="2026-03-02T14:00")]
    assert on(facts, "2026-03-02") is State.CURRENT


def test_a_plain_voiding_takes_the_fact_away() -> None:
    sign = signed("2026-03-02")
    assert states(standing([sign, void(sign, "2026-03-05")])) == []


def test_a_correction_stands_in_the_place_of_what_it_corrects() -> None:
    wrong = signed("2026-03-02", recorded="2026-03-02T08:00")
    out = withdrawn("2026-03-02", recorded="2026-03-02T09:00")
    right = signed("2026-03-02", recorded="2026-03-04", corrects=wrong.id)
    assert on([wrong, out, right], "2026-03-02") is State.WITHDRAWN


def test_a_correction_of_a_correction_takes_the_first_place() -> None:
    wrong = signed("2026-03-02", recorded="2026-03-02T08:00")
    out = withdrawn("2026-03-02", recorded="2026-03-02T09:00")
    second = signed("2026-03-02", recorded="2026-03-04", corrects=wrong.id)
    third = signed("2026-03-02", recorded="2026-03-05", corrects=second.id)
    found = standing([wrong, out, second, third])
    assert ([life.fact.id for life in found.signoffs], found.on(d("2026-03-02")).state) == ([third.id], State.WITHDRAWN)


def test_voiding_a_voiding_restores_nothing() -> None:
    sign = signed("2026-03-02")
    first = void(sign, "2026-03-05")
    assert states(standing([sign, first, void(first, "2026-03-06")])) == []


def test_a_correction_of_the_day_moves_the_fact() -> None:
    wrong = signed("2026-03-02")
    right = signed("2026-03-20", corrects=wrong.id)
    assert states(standing([wrong, right]))[0] == ("2026-03-20", "current")


def test_known_by_leaves_out_what_was_recorded_later() -> None:
    sign = signed("2026-03-02")
    facts = [sign, void(sign, "2026-03-05")]
    known = [on(facts, "2026-03-10", known_by=instant(day)) for day in ("2026-03-01", "2026-03-04", "2026-03-05")]
    assert known == [State.UNTRAINED, State.CURRENT, State.UNTRAINED]


def test_known_by_leaves_out_versions_approved_later() -> None:
    late = version("P03", replace(EASY, reobserve_days=0), 2, "2026-06-01", approved="2026-05-01")
    programme = {"P03": ProcedureFacts("P03", (version("P03"), late))}
    person = PersonFacts("amina", {"P03": (signed("2026-03-02"),)})
    ends = [
        timelines(programme, person, known_by=known)["P03"].spans[-1].first for known in (instant("2026-04-30"), None)
    ]
    assert ends == [d("2027-03-03"), d("2026-06-02")]


@pytest.mark.parametrize(("at", "allowed"), [("09:59", False), ("10:00", True), ("14:59", True), ("15:00", False)])
def test_work_of_a_day_is_asked_in_the_order_of_that_days_facts(at: str, allowed: bool) -> None:
    facts = (signed("2026-03-02", at="10:00"), withdrawn("2026-03-02", at="15:00"))
    person = PersonFacts("amina", {"P03": facts})
    assert same_day_allowed({"P03": procedure()}, person, "P03", d("2026-03-02"), time.fromisoformat(at)) is allowed


def test_work_without_a_time_comes_after_the_facts_that_have_one() -> None:
    person = PersonFacts("amina", {"P03": (signed("2026-03-02", at="10:00"),)})
    assert same_day_allowed({"P03": procedure()}, person, "P03", d("2026-03-02"))


def test_work_of_a_day_asks_the_prerequisites_at_that_time() -> None:
    facts = {"P03": (signed("2026-03-01"),), "P01": (signed("2026-02-01"), withdrawn("2026-03-02", at="15:00"))}
    programme = {"P03": procedure("P03", ON_TOP), "P01": procedure("P01")}
    asked = [same_day_allowed(programme, PersonFacts("a", facts), "P03", d("2026-03-02"), time(h)) for h in (14, 16)]
    assert asked == [True, False]


def test_what_a_sign_off_today_would_be_valid_until() -> None:
    found = standing([signed("2026-03-02")])
    assert [valid_until_if_signed(found, d(day)) for day in ("2026-04-01", "2027-02-20")] == [
        d("2027-04-01"),
        d("2028-03-02"),
    ]


# The laws, for any history.

DAYS = st.integers(0, 900).map(lambda n: (date(2026, 1, 1) + timedelta(days=n)).isoformat())
MAKERS = (met, missed, check, signed, taught, withdrawn)
ONE = st.tuples(st.sampled_from(MAKERS), DAYS).map(lambda pair: pair[0](pair[1]))
FACTS = st.lists(ONE, max_size=12)
POLICIES = st.builds(
    Policy,
    needed=st.integers(1, 3),
    distinct_days=st.integers(1, 3),
    check_asked=st.booleans(),
    window_days=st.integers(1, 400),
    idle_days=st.none() | st.integers(1, 300),
    first_year_months=st.none() | st.just(6),
    grace_days=st.integers(0, 20),
    prerequisites=st.sampled_from([(), ("P01",)]),
)
modest = settings(max_examples=examples(100), deadline=None)


def both(above: list[Fact], below: list[Fact], policy: Policy) -> Standing:
    return rests(tuple(above), tuple(below), policy)


@modest
@given(FACTS, FACTS, POLICIES)
def test_spans_touch_and_cover_every_day(above: list[Fact], below: list[Fact], policy: Policy) -> None:
    found = both(above, below, policy)
    for spans in (found.spans, found.evidence):
        assert (spans[0].first, spans[-1].after) == (date.min, None)
        assert all(one.after == other.first for one, other in pairwise(spans))


@modest
@given(FACTS, FACTS, POLICIES)
def test_neighbouring_spans_differ(above: list[Fact], below: list[Fact], policy: Policy) -> None:
    spans = both(above, below, policy).spans
    named = [(span.state, span.basis, span.cause) for span in spans]
    assert all(one != other for one, other in pairwise(named))


@modest
@given(FACTS, FACTS, POLICIES)
def test_voiding_everything_leaves_somebody_untrained(above: list[Fact], below: list[Fact], policy: Policy) -> None:
    voids: list[Fact] = [void(fact, "2029-01-01") for fact in above]
    found = both([*above, *voids], below, policy)
    assert {span.state for span in found.spans} <= {State.UNTRAINED}
    assert {span.state for span in found.evidence} == {Evidence.NONE}


@modest
@given(FACTS, FACTS, POLICIES)
def test_a_stricter_policy_is_never_enough_earlier(above: list[Fact], below: list[Fact], policy: Policy) -> None:
    stricter = replace(
        policy, needed=policy.needed + 1, renewal_needed=2, distinct_days=4, check_asked=True, window_days=1
    )
    loose, strict = both(above, below, policy), both(above, below, stricter)
    enough = [span.first for span in strict.evidence if span.state is Evidence.ENOUGH]
    assert all(next(s for s in reversed(loose.evidence) if s.first <= day).state is Evidence.ENOUGH for day in enough)


@modest
@given(FACTS, FACTS, POLICIES)
def test_a_usable_span_names_its_end_and_the_day_after_is_not_usable(
    above: list[Fact], below: list[Fact], policy: Policy
) -> None:
    found = both(above, below, policy)
    for span in found.spans:
        assert span.state.is_usable or span.ends_because is None
        if span.ends_on is not None:
            assert found.on(span.ends_on).state.is_usable
            assert not found.on(span.ends_on + timedelta(days=1)).state.is_usable


@modest
@given(FACTS, FACTS, POLICIES)
def test_after_a_last_withdrawal_nobody_works_alone(above: list[Fact], below: list[Fact], policy: Policy) -> None:
    found = both([*above, withdrawn("2028-12-31")], below, policy)
    assert (found.spans[-1].first, found.spans[-1].state) == (d("2028-12-31"), State.WITHDRAWN)


@modest
@given(FACTS, FACTS, POLICIES, DAYS)
def test_fewer_idle_days_never_let_anybody_work_alone_longer(
    above: list[Fact], below: list[Fact], policy: Policy, day: str
) -> None:
    strict = both(above, below, replace(policy, idle_days=min(policy.idle_days or 300, 100)))
    loose = both(above, below, policy)
    assert loose.on(d(day)).state.is_usable or not strict.on(d(day)).state.is_usable


@modest
@given(st.permutations(range(6)), st.lists(ONE, min_size=6, max_size=6), POLICIES)
def test_the_order_in_which_facts_are_given_does_not_matter(
    order: list[int], above: list[Fact], policy: Policy
) -> None:
    assert both([above[n] for n in order], [], policy) == both(above, [], policy)
