"""What counts as evidence on a day, rule by rule, and the pieces that are there or missing."""

from dataclasses import replace

import pytest

from tests.rules.shapes import (
    EASY,
    check,
    d,
    met,
    missed,
    procedure,
    signed,
    standing,
    version,
    void,
    withdrawn,
)
from training.rules.evidence import EvidenceDetail, Piece, PieceKind
from training.rules.facts import (
    Evidence,
    FromPaper,
    Method,
    MethodQuota,
    Outcome,
    PersonFacts,
    Policy,
    ProcedureFacts,
)
from training.rules.standing import evidence_on, timelines

TWO = replace(EASY, needed=2)
CHECK = replace(EASY, check_asked=True)
REAL = frozenset({Method.REAL})
NONE, SOME, ENOUGH = Evidence.NONE, Evidence.SOME, Evidence.ENOUGH


def detail(facts: list, day: str, *policies: Policy) -> EvidenceDetail:
    return evidence_on(standing(facts, *policies), d(day))


def state(facts: list, day: str, *policies: Policy) -> Evidence:
    return detail(facts, day, *policies).evidence


def piece(found: EvidenceDetail, kind: PieceKind) -> Piece:
    return next(each for each in found.pieces if each.kind is kind)


def test_days_up_to_the_day_itself_count_and_later_ones_do_not() -> None:
    assert [state([met("2026-03-02")], day) for day in ("2026-03-01", "2026-03-02")] == [NONE, ENOUGH]


def test_the_window_ends_after_its_last_good_day() -> None:
    policy = replace(EASY, window_days=30)
    assert [state([met("2026-03-02")], day, policy) for day in ("2026-04-01", "2026-04-02")] == [ENOUGH, NONE]


def test_nothing_before_the_last_withdrawal_counts() -> None:
    assert state([met("2026-03-02"), withdrawn("2026-03-02", at="09:00"), met("2026-03-01")], "2026-03-03") is ENOUGH
    assert state([met("2026-03-02", at="08:00"), withdrawn("2026-03-02", at="09:00")], "2026-03-03") is NONE


def test_an_earlier_version_counts_where_no_later_one_asks_re_observation() -> None:
    assert state([met("2026-12-02")], "2027-02-01", EASY, EASY) is ENOUGH


def test_an_earlier_version_counts_within_the_re_observe_days_and_no_longer() -> None:
    policies = EASY, replace(EASY, reobserve_days=30)
    facts = [met("2026-12-02")]
    assert [state(facts, day, *policies) for day in ("2027-01-31", "2027-02-01")] == [ENOUGH, NONE]


def test_every_version_in_between_has_its_say() -> None:
    policies = EASY, replace(EASY, reobserve_days=10), EASY
    assert state([met("2026-12-30")], "2028-01-01", *[replace(p, window_days=900) for p in policies]) is NONE


def test_an_observation_of_a_version_not_yet_in_force_waits_for_its_day() -> None:
    facts = [met("2026-12-30", version=2)]
    assert [state(facts, day, EASY, EASY) for day in ("2026-12-31", "2027-01-01")] == [NONE, ENOUGH]


def test_only_methods_that_count_make_evidence_enough_and_any_makes_some() -> None:
    assert state([met("2026-03-02", method=Method.TALK)], "2026-03-02", replace(EASY, methods=REAL)) is SOME


@pytest.mark.parametrize(
    "given", [{"assessment": False}, {"outcome": Outcome.NOT_MET}, {"outcome": Outcome.INCOMPLETE}]
)
def test_practice_and_what_was_not_met_is_some_evidence(given: dict) -> None:
    assert state([met("2026-03-02", **given)], "2026-03-02") is SOME


def test_assessments_before_the_last_critical_miss_do_not_count() -> None:
    facts = [met("2026-03-02"), missed("2026-03-03", method=Method.TALK), met("2026-03-04")]
    assert [state(facts, day) for day in ("2026-03-02", "2026-03-03", "2026-03-04")] == [ENOUGH, SOME, ENOUGH]


def test_a_critical_miss_leaves_the_check_alone() -> None:
    facts = [check("2026-03-01"), missed("2026-03-02"), met("2026-03-03")]
    assert state(facts, "2026-03-03", CHECK) is ENOUGH


def test_an_unsafe_stop_in_practice_starts_the_count_again() -> None:
    facts = [met("2026-03-02"), missed("2026-03-03", assessment=False)]
    assert piece(detail(facts, "2026-03-03"), PieceKind.ASSESSMENTS).have == 0


def test_a_later_failed_check_does_not_undo_a_passed_one() -> None:
    facts = [met("2026-03-02"), check("2026-03-02"), check("2026-03-03", passed=False)]
    assert state(facts, "2026-03-03", CHECK) is ENOUGH


def test_the_check_is_asked_only_where_the_version_asks_it() -> None:
    assert [state([met("2026-03-02")], "2026-03-02", policy) for policy in (CHECK, EASY)] == [SOME, ENOUGH]


def test_a_failed_check_alone_is_some_evidence() -> None:
    assert state([check("2026-03-02", passed=False)], "2026-03-02") is SOME


def test_at_least_so_many_by_given_methods() -> None:
    policy = replace(TWO, by_method=(MethodQuota(REAL, 2), MethodQuota(frozenset({Method.DRILL}), 1)))
    found = detail([met("2026-03-02"), met("2026-03-03")], "2026-03-03", policy)
    assert [(each.needed, each.have) for each in found.pieces if each.kind is PieceKind.BY_METHOD] == [(2, 2), (1, 0)]


def test_a_number_by_method_is_capped_at_the_assessments_needed() -> None:
    policy = replace(EASY, by_method=(MethodQuota(REAL, 3),))
    assert state([met("2026-03-02")], "2026-03-02", policy) is ENOUGH


def test_distinct_days_are_asked_up_to_the_assessments_needed() -> None:
    policy = replace(TWO, distinct_days=5)
    same_day = [met("2026-03-02"), met("2026-03-02")]
    assert [state(same_day, "2026-03-03", policy), state([*same_day, met("2026-03-03")], "2026-03-03", policy)] == [
        SOME,
        ENOUGH,
    ]


def offered(*steps: tuple[str, int]) -> EvidenceDetail:
    facts = {"P03": (met("2026-03-02"), met("2026-03-03"))}
    person = PersonFacts("amina", facts, {"P03": tuple((d(day), count) for day, count in steps)})
    found = timelines({"P03": procedure("P03", replace(TWO, distinct_supervisors=2))}, person)
    return evidence_on(found["P03"], d("2026-03-03"))


def test_distinct_supervisors_are_no_more_than_the_site_can_offer_that_day() -> None:
    lowered = piece(offered(("2026-01-01", 1)), PieceKind.SUPERVISORS)
    assert (lowered.needed, lowered.asked, lowered.is_there) == (1, 2, True)
    assert lowered.lowered_because == "only 1 other than the learner had authority that day"


@pytest.mark.parametrize(
    "steps", [[], [("2026-01-01", 2)], [("2026-01-01", 1), ("2026-03-03", 2)], [("2026-03-04", 1)]]
)
def test_where_the_site_can_offer_enough_nothing_is_lowered(steps: list) -> None:
    found = piece(offered(*steps), PieceKind.SUPERVISORS)
    assert (found.needed, found.have, found.lowered_because) == (2, 1, None)


def test_every_critical_step_with_a_when_is_shown_at_least_once() -> None:
    programme = {"P03": ProcedureFacts("P03", (version("P03", keys="jam leak"),))}
    facts = met("2026-03-02", shown=frozenset({"jam"})), met("2026-03-03", shown=frozenset({"leak", "other"}))
    found = timelines(programme, PersonFacts("amina", {"P03": facts}))["P03"]
    assert piece(evidence_on(found, d("2026-03-02")), PieceKind.STEPS).missing == ("leak",)
    assert evidence_on(found, d("2026-03-03")).evidence is ENOUGH


def test_a_step_shown_in_an_assessment_not_met_is_not_shown() -> None:
    programme = {"P03": ProcedureFacts("P03", (version("P03", keys="jam"),))}
    facts = met("2026-03-02"), met("2026-03-03", shown=frozenset({"jam"}), outcome=Outcome.NOT_MET)
    found = timelines(programme, PersonFacts("amina", {"P03": facts}))["P03"]
    assert evidence_on(found, d("2026-03-03")).evidence is SOME


def test_every_prerequisite_is_usable_on_the_day() -> None:
    programme = {"P03": procedure("P03", replace(EASY, prerequisites=("P01",))), "P01": procedure("P01")}
    person = PersonFacts("amina", {"P03": (met("2026-03-02"),), "P01": (signed("2026-03-05"),)})
    found = timelines(programme, person)["P03"]
    assert evidence_on(found, d("2026-03-04")).missing[0].missing == ("P01",)
    assert evidence_on(found, d("2026-03-05")).evidence is ENOUGH


RENEWED = replace(
    TWO, renewal_needed=1, renewal_methods=frozenset({Method.TALK}), distinct_days=2, distinct_supervisors=2
)


def test_a_renewal_asks_its_own_number_and_methods_and_no_distinct_days_or_supervisors() -> None:
    found = detail([signed("2026-03-02"), met("2026-04-01", method=Method.TALK)], "2026-04-01", RENEWED)
    assert ([each.kind for each in found.pieces], found.evidence) == ([PieceKind.ASSESSMENTS], ENOUGH)


def test_a_renewal_counts_only_evidence_later_than_the_sign_off() -> None:
    facts = [met("2026-03-02"), check("2026-03-02"), signed("2026-03-02")]
    assert [each.have for each in detail(facts, "2026-03-03", CHECK).pieces] == [0, 0]


def test_a_renewal_asks_the_check_again() -> None:
    facts = [check("2026-03-01"), met("2026-03-01"), signed("2026-03-02"), met("2026-04-01")]
    assert [each.kind for each in detail(facts, "2026-04-01", CHECK).missing] == [PieceKind.CHECK]


def test_some_evidence_never_looks_at_the_previous_sign_off() -> None:
    assert state([met("2026-03-02"), signed("2026-03-02")], "2026-03-03") is SOME


@pytest.mark.parametrize(("day", "renewal"), [("2028-03-02", True), ("2028-03-03", False)])
def test_twelve_months_after_its_last_day_a_sign_off_is_no_longer_renewed(day: str, renewal: bool) -> None:
    assert detail([signed("2026-03-02")], day).for_renewal is renewal


def test_after_a_withdrawal_first_evidence_is_asked() -> None:
    assert not detail([signed("2026-03-02"), withdrawn("2026-03-03")], "2026-03-04").for_renewal


def test_before_the_first_version_there_is_no_evidence() -> None:
    assert state([met("2025-12-30")], "2025-12-31") is NONE


def test_nothing_countable_is_never_enough() -> None:
    assert state([], "2026-03-02", replace(EASY, needed=0)) is NONE


def test_the_evidence_names_the_facts_it_rests_on_in_order() -> None:
    facts = [check("2026-03-01", id="b"), met("2026-03-02", id="a"), met("2026-03-03", id="c", assessment=False)]
    assert detail(facts, "2026-03-04", CHECK).rests_on == ("b", "a")


def test_a_voided_observation_is_no_evidence() -> None:
    seen = met("2026-03-02")
    assert state([seen, void(seen, "2026-03-05")], "2026-03-03") is NONE


@pytest.mark.parametrize(
    ("counts", "first"), [(FromPaper.BOTH, ENOUGH), (FromPaper.RENEWAL, SOME), (FromPaper.NEVER, SOME)]
)
def test_from_paper_counts_for_a_first_sign_off_as_the_policy_says(counts: FromPaper, first: Evidence) -> None:
    found = detail([met("2026-03-02", from_paper=True)], "2026-03-03", replace(EASY, from_paper=counts))
    assert (found.evidence, len(found.set_aside)) == (first, 0 if first is ENOUGH else 1)


@pytest.mark.parametrize(
    ("counts", "renewal"), [(FromPaper.BOTH, ENOUGH), (FromPaper.RENEWAL, ENOUGH), (FromPaper.NEVER, SOME)]
)
def test_from_paper_counts_for_a_renewal_as_the_policy_says(counts: FromPaper, renewal: Evidence) -> None:
    facts = [met("2026-03-01"), signed("2026-03-02"), met("2026-04-01", from_paper=True)]
    found = detail(facts, "2026-04-02", replace(EASY, from_paper=counts))
    assert (found.for_renewal, found.evidence) == (True, renewal)


def test_a_critical_miss_on_paper_starts_again_whatever_paper_counts_for() -> None:
    policy = replace(EASY, from_paper=FromPaper.NEVER)
    assert state([met("2026-03-01"), missed("2026-03-02", from_paper=True)], "2026-03-03", policy) is SOME
