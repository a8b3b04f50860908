"""Words with {site facts} in them."""

import pytest

from clinic.rules.site_text import first_number, with_answers


def test_each_name_is_replaced_by_its_answer_or_by_words_that_send_to_the_instructions() -> None:
    text = "Press {stop control}, wait for {stopped sign}; {nothing known}."
    answers = {"stop control": "the red button", "stopped sign": ""}
    assert with_answers(text, answers) == (
        "Press the red button, wait for as this unit’s instructions say; as this unit’s instructions say."
    )


@pytest.mark.parametrize(
    ("answer", "number"),
    [("6 jets, all at the tip", 6), ("about 1.5 bar", 1.5), ("2,5 bar", 2.5), ("none", None), ("", None)],
)
def test_the_first_number_an_answer_names(answer: str, number: float | None) -> None:
    assert first_number(answer) == number
