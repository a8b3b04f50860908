"""The outcome of an observation: computed from the marks, with its reasons."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.rules.amount import examples
from training.rules.facts import Mark, Outcome
from training.rules.outcome import OutcomeResult, StepShape, outcome

WORDS = {
    "a": Mark.ALONE,
    "p": Mark.PROMPTED,
    "h": Mark.HELPED,
    "w": Mark.WRONG,
    "k": Mark.ASKED,
    "-": Mark.NOT_NEEDED,
    ".": Mark.NOT_SEEN,
}


def of(critical: str, others: str, **given: bool) -> OutcomeResult:
    """The outcome of these marks, a letter a step: the critical steps first."""
    steps = [StepShape(str(n), critical=n < len(critical), conditional=True) for n in range(len(critical + others))]
    return outcome(steps, {str(n): WORDS[letter] for n, letter in enumerate(critical + others)}, **given)


def test_all_alone_is_met() -> None:
    assert of("aa", "aaaa").outcome is Outcome.MET


@pytest.mark.parametrize("mark", ["p", "h", "w"])
def test_a_critical_step_prompted_helped_or_wrong_is_not_met_and_a_critical_miss(mark: str) -> None:
    found = of(f"a{mark}", "aaaa")
    assert (found.outcome, found.critical_miss) == (Outcome.NOT_MET, True)
    assert found.because == (f"not met: step 2 is critical and was {WORDS[mark]}.",)


@pytest.mark.parametrize(("others", "result"), [("aaaap", Outcome.MET), ("aaapp", Outcome.NOT_MET)])
def test_four_fifths_of_the_other_steps_seen_are_alone(others: str, result: Outcome) -> None:
    assert of("a", others).outcome is result


@pytest.mark.parametrize(("alone", "result"), [(6, Outcome.NOT_MET), (7, Outcome.MET)])
def test_of_eight_other_steps_seven_are_alone(alone: int, result: Outcome) -> None:
    assert of("a", "a" * alone + "p" * (8 - alone)).outcome is result


def test_too_few_alone_is_no_critical_miss() -> None:
    assert not of("a", "pppp").critical_miss


def test_another_step_that_was_wrong_counts_against_the_share() -> None:
    assert (of("a", "aaaaw").outcome, of("a", "aaaww").outcome) == (Outcome.MET, Outcome.NOT_MET)


def test_steps_not_seen_do_not_lift_the_share_of_those_alone() -> None:
    """One of six helped would be met with five alone; one more that nobody saw leaves it open."""
    assert of("aaaa", "aaaaap").outcome is Outcome.MET
    found = of("aaaa", "aaaap.")
    assert found.outcome is Outcome.INCOMPLETE
    assert found.because == ("incomplete: 4 of the 6 other steps that applied were seen and alone, and it takes 5.",)


MARKS = st.text("aphwk-.", max_size=12)


@settings(max_examples=examples(200))
@given(MARKS, MARKS, st.data())
def test_not_seen_instead_of_another_mark_never_makes_it_met(critical: str, others: str, data: st.DataObject) -> None:
    both = critical + others
    at = data.draw(st.integers(0, max(len(both) - 1, 0)))
    if not both or both[at] == "-" or of(critical, others).outcome is Outcome.MET:
        return
    unseen = both[:at] + "." + both[at + 1 :]
    assert of(unseen[: len(critical)], unseen[len(critical) :]).outcome is not Outcome.MET


@settings(max_examples=examples(200))
@given(MARKS, MARKS)
def test_a_slow_count_by_the_words_of_the_rule_says_the_same(critical: str, others: str) -> None:
    """Counted one letter at a time, with fractions instead of rounding."""
    seen_others = [letter for letter in others if letter in "aphwk"]
    right = [letter for letter in others if letter in "ak"]
    applied = [letter for letter in critical + others if letter != "-"]
    if any(letter in "phw" for letter in critical) or (seen_others and len(right) / len(seen_others) < 0.8):
        expected = Outcome.NOT_MET
    elif "." in critical or (applied and sum(letter != "." for letter in applied) / len(applied) < 0.8):
        expected = Outcome.INCOMPLETE
    else:
        of_those = [letter for letter in others if letter != "-"]
        enough = not of_those or len(right) / len(of_those) >= 0.8
        expected = Outcome.MET if enough else Outcome.INCOMPLETE
    assert of(critical, others).outcome is expected


def test_a_critical_step_not_seen_is_incomplete() -> None:
    found = of("a.", "aaaaaaaa")
    assert found.because == ("incomplete: step 2 is critical and was not seen.",)
    assert (found.outcome, found.critical_miss) == (Outcome.INCOMPLETE, False)


@pytest.mark.parametrize(("others", "result"), [("aaaa.", Outcome.MET), ("aaa..", Outcome.INCOMPLETE)])
def test_four_fifths_of_the_steps_that_applied_are_seen(others: str, result: Outcome) -> None:
    assert of("a", others).outcome is result


def test_not_met_goes_before_incomplete() -> None:
    assert of("p.", "....").outcome is Outcome.NOT_MET


def test_asked_counts_as_alone_and_seen() -> None:
    found = of("k", "kkkk")
    assert (found.outcome, found.seen, found.alone) == (Outcome.MET, 5, 5)


def test_not_needed_leaves_every_count() -> None:
    found = of("a-", "aaaa-----")
    assert (found.outcome, found.applied, found.seen, found.alone) == (Outcome.MET, 5, 5, 5)


def test_a_step_without_a_mark_was_not_seen() -> None:
    assert outcome([StepShape("1", critical=True)], {}).outcome is Outcome.INCOMPLETE


@pytest.mark.parametrize("assessment", [True, False])
def test_stopped_as_unsafe_is_a_critical_miss_whichever_it_was(assessment: bool) -> None:
    found = of("a", "aaaa", stopped=True, assessment=assessment)
    assert (found.outcome, found.critical_miss) == (Outcome.NOT_MET, True)


def test_practice_has_no_critical_miss_of_a_step() -> None:
    found = of("p", "aaaa", assessment=False)
    assert (found.outcome, found.critical_miss) == (Outcome.NOT_MET, False)


def test_every_reason_is_given_at_once() -> None:
    assert len(of("ph", "apppp", stopped=True).because) == 4


@settings(max_examples=examples(100))
@given(st.text("aphwk-.", max_size=6), st.text("aphwk-.", max_size=12), st.booleans())
def test_a_better_mark_never_makes_the_outcome_worse(critical: str, others: str, stopped: bool) -> None:
    order = [Outcome.NOT_MET, Outcome.INCOMPLETE, Outcome.MET]
    better = others.replace("p", "a").replace("h", "a").replace("w", "a")
    before, after = of(critical, others, stopped=stopped), of(critical, better, stopped=stopped)
    assert order.index(after.outcome) >= order.index(before.outcome)


@pytest.mark.parametrize(
    ("critical", "others", "stopped", "because"),
    [
        ("a", "", False, ["met: every critical step was right, and enough of the others."]),
        ("a", "", True, ["not met: it was stopped as unsafe."]),
        ("a", "aaaahh", False, ["not met: 4 of the 6 other steps seen were alone, and it takes 5."]),
        ("a", "aah", False, ["not met: 2 of the 3 other steps seen were alone, and it takes 3."]),
        ("", "aaaa..", False, ["incomplete: 4 of the 6 steps that applied were seen, and it takes 5."]),
        ("a", "...", False, ["incomplete: 1 of the 4 steps that applied was seen, and it takes 4."]),
    ],
)
def test_the_reasons_in_full(critical: str, others: str, stopped: bool, because: list[str]) -> None:
    assert list(of(critical, others, stopped=stopped).because) == because
