"""The stored form of a text: plain words, lists and numbers, and texts stored before a part was asked for."""

from dataclasses import replace

import pytest

from training.rules.facts import Policy
from training.rules.texts import (
    Content,
    QuestionWeight,
    content_from_json,
    content_to_json,
    plain,
    policy_from_json,
    policy_to_json,
)
from training.rules.wording import codes_in_runs

LATER_PARTS = ("who", "again", "contents", "records")


@pytest.mark.parametrize("part", LATER_PARTS)
def test_a_text_stored_before_a_part_was_asked_for_has_it_empty(part: str) -> None:
    full = Content("To mill.", who="All", again="Yearly", contents=("Dust",), records=("Names",))
    stored = {name: value for name, value in content_to_json(full).items() if name != part}
    assert content_from_json(stored) == replace(full, **{part: getattr(Content(""), part)})


def test_a_field_that_is_not_known_is_refused_and_a_wrong_one_named_by_its_place() -> None:
    stored = policy_to_json(Policy())
    with pytest.raises(ValueError, match="Policy has no field witnesses"):
        policy_from_json(stored | {"witnesses": 2})
    with pytest.raises(ValueError, match=r"needed"):
        policy_from_json(stored | {"needed": "two"})


def test_a_word_of_a_list_is_stored_as_plain_text() -> None:
    assert [type(value) for value in plain([QuestionWeight.SAFETY, 1, True, None])] == [str, int, bool, type(None)]


@pytest.mark.parametrize(
    ("codes", "says"),
    [(["P1", "P"], "P, P1"), (["X1", "X2", "X3"], "X1 to X3"), (["P01", "P02", "T03"], "P01, P02, T03")],
)
def test_only_codes_of_the_same_letters_and_numbers_in_a_row_are_a_run(codes: list[str], says: str) -> None:
    assert codes_in_runs(codes) == says
