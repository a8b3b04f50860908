"""Words with {site facts} in them."""

import pytest

from clinic.rules.site_text import Answer, does_not_fit, first_number, said

KNOWN = {"stop control": Answer("the red knob"), "respirator": Answer("", not_used=True), "tub": Answer("")}


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("Press {stop control}.", "Press the red knob."),
        ("{stop control} stops it.", "The red knob stops it."),
        (
            "Wait for {stopped sign}.",
            "Wait for the stopped sign (not filled in yet: see the maker’s instructions, or ask).",
        ),
        ("Put it into the {tub}", "Put it into the tub (not filled in yet: see the maker’s instructions, or ask)"),
        ("{respirator} when dry", "The respirator (not used here) when dry"),
        ("Open it. {stop control} is left.", "Open it. The red knob is left."),
        ("Nothing to fill in.", "Nothing to fill in."),
        ("", ""),
    ],
)
def test_a_sentence_reads_as_one_whatever_is_known(text: str, says: str) -> None:
    assert said(text, KNOWN) == says


def test_what_is_missing_is_said_once_for_the_whole_text() -> None:
    says = said("Walk to the {eyewash}, {first-aid kit} and {spill kit}.", {})
    assert says == (
        "Walk to the eyewash, the first-aid kit and the spill kit (not filled in yet: see the maker’s instructions, or ask)."
    )


@pytest.mark.parametrize(
    ("answer", "word"),
    [
        ("The red knob", "Begin small"),
        ("the red knob.", "full stop"),
        ("the {red} knob", "braces"),
        ("the red knob left of the door", ""),
        ("Dr Asta Winther, day and night", ""),
        ("90 seconds", ""),
        ("“hands position”, by the key", ""),
        ("", ""),
    ],
)
def test_an_answer_that_would_not_read_well_inside_its_sentence_is_named(answer: str, word: str) -> None:
    assert word in does_not_fit(answer) and bool(word) == bool(does_not_fit(answer))


@pytest.mark.parametrize(
    ("answer", "number"),
    [("6 jets, all at the tip", 6), ("about 1.5 bar", 1.5), ("2,5 bar", 2.5), ("none", None), ("", None)],
)
def test_the_first_number_an_answer_names(answer: str, number: float | None) -> None:
    assert first_number(answer) == number
