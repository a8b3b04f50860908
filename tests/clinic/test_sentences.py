"""No form speaks Django's own sentences: each error says what to do next."""

from typing import Any

import pytest
from django import forms

CASES: list[tuple[forms.Field, Any, str]] = [
    (forms.CharField(), "", "Fill this in: it is needed."),
    (forms.CharField(max_length=3), "four", "Shorten it to 3 characters: it has 4."),
    (forms.CharField(min_length=5), "four", "Write at least 5 characters: it has 4."),
    (forms.CharField(), "a\0b", "There is a character in it that cannot be seen. Type it anew."),
    (forms.EmailField(), "name", "Write the whole address, such as name@example.org."),
    (forms.IntegerField(), "3.5", "Write a whole number, such as 3."),
    (forms.IntegerField(min_value=2), "1", "Write 2 or more."),
    (forms.IntegerField(max_value=2), "3", "Write 2 or less."),
    (forms.DecimalField(), "many", "Write a number, such as 2.5."),
    (forms.DecimalField(max_digits=2), "123", "Write at most 2 digits."),
    (forms.FileField(), None, "Choose a file."),
    (
        forms.ChoiceField(choices=[("a", "a")]),
        "b",
        "Choose one of those offered: this one is not there, or not any more.",
    ),
    (forms.UUIDField(), "no", "This page is too old. Open it again, and send it then."),
]


@pytest.mark.parametrize(("field", "given", "says"), CASES)
def test_an_error_says_what_to_do_next(field: forms.Field, given: Any, says: str) -> None:
    with pytest.raises(forms.ValidationError) as wrong:
        field.clean(given)
    assert wrong.value.messages == [says]


def test_a_field_with_a_sentence_of_its_own_keeps_it() -> None:
    field = forms.CharField(error_messages={"required": "Say why."})
    with pytest.raises(forms.ValidationError, match="Say why"):
        field.clean("")
