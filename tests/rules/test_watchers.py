"""Whose watching counts: the rule by itself, and the state at the moment against a second reading of it."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.rules.amount import examples
from tests.rules.histories import watched_histories
from tests.rules.shapes import EASY, carried, check, d, founded, met, missed, procedure, signed, standing, withdrawn
from tests.rules.slow_standing import watchers_state
from training.rules.evidence import PieceKind
from training.rules.facts import Evidence, Observed, PersonFacts, Policy, State
from training.rules.standing import evidence_on
from training.rules.watchers import WatchedBy, Watchers, sets_aside, with_watchers

DAY = "2026-03-02"


def told(seen: Observed, *theirs, known_by=None) -> State | None:
    """The assessment of Amina, told apart by what Rivka, who watched, had done."""
    programme = {"P03": procedure()}
    rivka = PersonFacts("rivka", {"P03": theirs})
    amina = PersonFacts("amina", {"P03": (seen,)})
    found = with_watchers(amina, {seen.id: WatchedBy("rivka")}, Watchers(programme, {"rivka": rivka}, known_by))
    return found.by_procedure["P03"][0].set_aside


def test_what_somebody_usable_watched_counts():
    assert told(met(DAY), signed("2026-02-01")) is None


@pytest.mark.parametrize(
    "theirs", [(), (check("2026-02-01"),), (signed("2026-02-01"), withdrawn("2026-03-01")), (carried("2026-01-05", "2025-05-01", "2026-02-05"),)]
)  # fmt: skip
def test_what_somebody_not_usable_watched_is_set_aside(theirs):
    assert told(met(DAY), *theirs) is not None


def test_practice_is_never_set_aside():
    assert told(met(DAY, assessment=False)) is None


@pytest.mark.parametrize(("at", "counts"), [("09:00", False), ("15:00", True)])
def test_a_signature_in_the_middle_of_the_day_does_not_heal_the_morning(at, counts):
    assert (told(met(DAY, at=at), signed(DAY, at="12:00")) is None) is counts


@pytest.mark.parametrize(("at", "counts"), [("09:00", True), ("15:00", False)])
def test_a_withdrawal_in_the_middle_of_the_day_does_not_blame_the_morning(at, counts):
    theirs = (signed("2026-02-01"), withdrawn(DAY, at="12:00"))
    assert (told(met(DAY, at=at), *theirs) is None) is counts


def test_work_without_a_time_comes_after_what_has_one():
    assert told(met(DAY), signed(DAY, at="23:00")) is None


def test_among_facts_without_a_time_the_order_of_recording_decides():
    theirs = signed(DAY, recorded=f"{DAY}T12:00")
    assert told(met(DAY, recorded=f"{DAY}T11:00"), theirs) is State.UNTRAINED
    assert told(met(DAY, recorded=f"{DAY}T13:00"), theirs) is None


def test_a_withdrawal_recorded_late_counts_only_once_it_is_known():
    theirs = (signed("2026-02-01"), withdrawn("2026-03-01", recorded="2026-03-20"))
    early, late = (d(day) for day in ("2026-03-10", "2026-03-25"))
    noon = met(DAY).recorded_at
    assert told(met(DAY), *theirs, known_by=noon.replace(day=early.day)) is None
    assert told(met(DAY), *theirs, known_by=noon.replace(day=late.day)) is State.WITHDRAWN


@pytest.mark.parametrize("state", [state for state in State if not state.is_usable])
def test_a_reason_given_with_the_authority_counts_whatever_the_state(state):
    assert sets_aside(state, lowered=True) is None


@pytest.mark.parametrize("state", [state for state in State if not state.is_usable])
def test_a_founding_grant_counts_unless_it_was_withdrawn(state):
    assert (sets_aside(state, founder=True) is None) is (state is not State.WITHDRAWN)


def test_a_founder_is_usable_by_the_grant_itself():
    assert told(met(DAY), founded("2026-02-01", "2026-12-01")) is None


@pytest.mark.parametrize("turn", [("P01", "P03"), ("P03", "P01")])
def test_what_one_watcher_might_do_is_never_taken_for_another_nor_changed_by_what_was_asked_before(turn):
    programme = {"P01": procedure("P01"), "P03": procedure("P03", replace(EASY, prerequisites=("P01",)))}
    both, upper = ({"P01": (signed("2026-02-01"),)}, {"P03": (signed("2026-02-02"),)})
    people = {
        "rivka": PersonFacts("rivka", both | upper),
        "tomas": PersonFacts("tomas", upper),  # nothing that it rests on
        "ines": PersonFacts("ines", both),
    }
    together = Watchers(programme, people)
    found = {(who, code): together.was_usable(who, code, d(DAY)) for who in people for code in turn}
    assert found == {key: Watchers(programme, people).was_usable(*key, d(DAY)) for key in found}
    assert {who for (who, code), usable in found.items() if usable and code == "P03"} == {"rivka"}
    assert {who for (who, code), usable in found.items() if usable and code == "P01"} == {"rivka", "ines"}


def aside(day: str, **more) -> Observed:
    return met(day, set_aside=State.LAPSED, **more)


def test_an_assessment_that_is_set_aside_is_no_evidence_but_is_some():
    found = standing([aside(DAY), check(DAY)], Policy(needed=1, check_asked=True))
    assert evidence_on(found, d(DAY)).evidence is Evidence.SOME
    assert found.on(d(DAY)).state is State.LEARNING


def test_the_detail_names_what_would_count_but_for_who_watched():
    old, good, far = aside("2026-02-20"), met(DAY), aside("2025-12-31")
    detail = evidence_on(standing([old, good, far], Policy(needed=2, check_asked=False, window_days=30)), d(DAY))
    assert [fact.id for fact in detail.set_aside] == [old.id]
    assert detail.rests_on == (good.id,)
    assert [piece.have for piece in detail.pieces if piece.kind is PieceKind.ASSESSMENTS] == [1]


def test_a_critical_miss_starts_again_whoever_saw_it():
    found = standing([met("2026-03-01"), replace(missed(DAY), set_aside=State.LAPSED)], Policy(check_asked=False))
    assert found.on(d(DAY)).state is State.LEARNING


def test_it_stays_a_performance_for_the_idle_limit():
    asks = Policy(check_asked=False, idle_days=30)
    found = standing([signed("2026-02-01"), aside("2026-02-20")], asks)
    assert found.on(d("2026-03-22")).state.is_usable and not found.on(d("2026-03-23")).state.is_usable


@settings(max_examples=examples(100), deadline=None, suppress_health_check=list(HealthCheck))
@given(watched_histories(), st.data())
def test_the_state_at_the_moment_agrees_with_the_slow_reading(pair, data):
    """Each assessment of a random history, watched by somebody with a random history, as known by a random instant."""
    history, watcher = pair
    known_by = data.draw(st.sampled_from([None, *history.instants]))
    fast = Watchers(history.programme, {"watcher": watcher}, known_by)
    for code, rows in history.person.by_procedure.items():
        seen = {fact.id: WatchedBy("watcher") for fact in rows if isinstance(fact, Observed)}
        told_fast = with_watchers(PersonFacts("me", {code: rows}), seen, fast).by_procedure[code]
        for fact, found in zip(rows, told_fast, strict=True):
            if isinstance(fact, Observed) and fact.assessment:
                slow = watchers_state(history.programme, watcher, code, fact, rows, known_by)
                assert found.set_aside == (None if slow.is_usable else slow)
