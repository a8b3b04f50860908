"""The one sentence of person × procedure × day: every state and every ending has its words."""

from dataclasses import replace
from datetime import date

import pytest

from tests.rules.shapes import EASY, d, procedure, signed, standing, withdrawn
from training.rules.facts import Basis, Ending, PersonFacts, State
from training.rules.sentence import sentence
from training.rules.standing import StandingSpan, timelines

TITLES = {"P03": "Tool swap", "P13": "Sharps injury response"}


def resting_on_p13(day: str) -> StandingSpan:
    programme = {"P03": procedure("P03", replace(EASY, prerequisites=("P13",))), "P13": procedure("P13")}
    facts = {"P03": (signed("2026-02-11"),), "P13": (signed("2026-02-01"), withdrawn("2027-01-23"))}
    return timelines(programme, PersonFacts("ines", facts))["P03"].on(d(day))


def test_it_says_until_when_what_follows_and_why() -> None:
    says = "Yes, through 22 January 2027; then on hold, because Sharps injury response (P13) ends."
    assert sentence(resting_on_p13("2026-11-25"), TITLES) == says


def test_a_hold_names_what_it_waits_for() -> None:
    says = "Only with somebody standing by: on hold, because Sharps injury response (P13) does not hold."
    assert sentence(resting_on_p13("2027-01-23"), TITLES) == says


def test_a_lapse_says_since_when_and_why() -> None:
    says = "lapsed since 3 March 2027, because its validity ended the day before."
    assert sentence(standing([signed("2026-03-02")]).on(d("2027-04-01")), TITLES).endswith(says)


@pytest.mark.parametrize(
    ("state", "starts"),
    [
        (State.CURRENT, "Yes, and nothing known ends it."),
        (State.DUE, "Yes, and nothing known ends it."),
        (State.READY, "Only with somebody standing by: never signed, and the evidence is enough to sign."),
        (State.LEARNING, "Only with somebody standing by: never signed, and some evidence is there."),
        (State.UNTRAINED, "No: never signed, and no evidence yet."),
        (State.WITHDRAWN, "No: withdrawn on 1 January 2026."),
    ],
)
def test_each_state_answers_whether_one_may_work_alone(state: State, starts: str) -> None:
    assert sentence(StandingSpan(d("2026-01-01"), None, state), TITLES) == starts


@pytest.mark.parametrize("ending", list(Ending))
def test_every_ending_is_worded(ending: Ending) -> None:
    span = StandingSpan(d("2026-01-01"), None, State.CURRENT, ends_on=d("2026-02-01"), ends_because=ending, ends_by="3")
    says = sentence(span, TITLES)
    assert says.startswith("Yes, through 1 February 2026; then ")
    assert "{" not in says and says.endswith(".")


@pytest.mark.parametrize("state", [state for state in State if not state.is_usable])
def test_nobody_stands_by_at_a_taught_topic(state: State) -> None:
    cause = {State.LAPSED: "valid until", State.ON_HOLD: "prerequisite:P13"}.get(state)
    span = StandingSpan(d("2026-01-01"), None, state, Basis.TAUGHT, cause)
    assert sentence(span, TITLES, is_topic=True).startswith("No: ")


def test_a_code_without_a_title_stands_alone() -> None:
    span = StandingSpan(date(2026, 1, 1), None, State.ON_HOLD, cause="prerequisite:P99")
    assert sentence(span, TITLES).endswith("because P99 does not hold.")
