"""What the week plan says."""

import pytest

from training.rules.week import UnsavedWhy
from training.rules.week_wording import resting_sentence, unsaved_sentence, watches_sentence


@pytest.mark.parametrize(
    ("why", "sentence"),
    [
        (
            UnsavedWhy.NOBODY,
            "Nobody with authority for it is at work together with them by then. Move a day, or grant authority.",
        ),
        (
            UnsavedWhy.TOO_MUCH,
            "It needs more days or people than are left by then. Ask an outside witness, or move a day.",
        ),
        (
            UnsavedWhy.OTHERS_FIRST,
            "The days of those who could watch are taken by others whose sign-offs end sooner.",
        ),
    ],
)
def test_why_it_is_not_saved_and_what_would_help(why: UnsavedWhy, sentence: str) -> None:
    assert unsaved_sentence(why, ["Not said."]) == sentence


def test_what_watching_does_not_supply_is_said_in_full() -> None:
    assert unsaved_sentence(UnsavedWhy.BLOCKED, ["No check.", "No instructions."]) == (
        "No watching saves it: No check. No instructions."
    )


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        ((1, 1, 0), "one met assessment needed"),
        ((2, 2, 0), "two met assessments needed, on two different days"),
        ((2, 1, 1), "two met assessments needed, by one person who did not watch yet"),
        ((3, 2, 2), "three met assessments needed, on two different days, by two people who did not watch yet"),
    ],
)
def test_what_is_asked(asked: tuple[int, int, int], sentence: str) -> None:
    assert watches_sentence(*asked) == sentence


@pytest.mark.parametrize(
    ("resting", "sentence"), [(0, ""), (1, "; one other sign-off rests on it"), (2, "; two other sign-offs rest on it")]
)
def test_what_goes_on_hold_with_it(resting: int, sentence: str) -> None:
    assert resting_sentence(resting) == sentence
