"""The words of a step at one unit."""

import pytest

from training.rules.place import Answer, Words, drops_out, filled, said, steps_here, told_apart
from training.rules.texts import Step

WAIT = Step("s1", "Wait for {stopped sign}.")
DEEP = Step("s2", "Let it off.", when="the unit holds {other energy}")


def test_a_site_fact_stands_in_its_place() -> None:
    words = filled("Wait for {stopped sign}.", {"stopped sign": Answer("the green lamp")})
    assert words == (Words("Wait for "), Words("the green lamp", "stopped sign"), Words("."))


def test_a_fact_not_filled_in_sends_to_the_instructions_and_is_noted() -> None:
    [_, fact, _] = filled(WAIT.do, {})
    assert (fact.says, fact.missing) == ("the stopped sign", True)


def test_a_text_without_facts_is_one_stretch() -> None:
    assert filled("Open the door.", {}) == (Words("Open the door."),)


def test_no_text_is_no_stretch() -> None:
    assert filled("", {}) == ()


def test_a_step_stays_whose_case_is_there_whatever_it_names_besides() -> None:
    """Where no respirator is used, nobody loses the gloves that go on in the same step."""
    unused = {"respirator": Answer("", not_used=True)}
    assert not drops_out(Step("s1", "With powder put on {respirator} first; then gloves."), unused)
    assert drops_out(Step("s1", "Put it on.", when="{respirator} is worn"), unused)


def test_a_step_about_what_is_not_used_here_drops_out() -> None:
    assert drops_out(DEEP, {"other energy": Answer("", not_used=True)})


def test_a_step_whose_fact_is_not_filled_in_stays() -> None:
    assert not drops_out(DEEP, {})


def test_the_steps_that_stay_keep_their_order() -> None:
    assert steps_here((WAIT, DEEP, WAIT), {"other energy": Answer("", not_used=True)}) == (WAIT, WAIT)


def test_a_whole_sentence_can_be_said() -> None:
    assert said(WAIT.do, {"stopped sign": Answer("the green lamp")}) == "Wait for the green lamp."


@pytest.mark.parametrize(
    ("answers", "told"),
    [
        ([("unit 1", Answer("red knob")), ("unit 2", Answer("red knob"))], Answer("red knob")),
        ([("unit 1", Answer("red knob")), ("unit 2", Answer("pull"))], Answer("red knob (unit 1) or pull (unit 2)")),
        ([("unit 1", Answer("", not_used=True)), ("unit 2", Answer("pull"))], Answer("pull")),
        ([("unit 1", Answer("", not_used=True)), ("unit 2", Answer("", not_used=True))], Answer("", not_used=True)),
        (
            [("unit 1", Answer("knob")), ("unit 2", Answer("pull")), ("unit 3", Answer("knob"))],
            Answer("knob (unit 1 and unit 3) or pull (unit 2)"),
        ),
    ],
)
def test_where_no_unit_is_chosen_each_answer_names_its_unit(answers: list, told: Answer) -> None:
    assert told_apart(answers) == told
