"""One style of refusal: everything that is missing at once, each said once, with what mends it, and nothing typed is lost."""

from typing import Any

import pytest
from django import forms
from django.template.loader import render_to_string

from clinic.forms.base import add_refusals
from clinic.record import Refusal, Refused
from tests.house.sources import templates


class Slip(forms.Form):
    day = forms.CharField(required=False)


def refused(*refusals: Refusal) -> forms.Form:
    form = Slip({"day": "3 Mar 2025"})
    form.is_valid()
    add_refusals(form, Refused(*refusals))
    return form


def test_every_refusal_stands_at_its_field_or_above_the_form() -> None:
    form = refused(Refusal("Too early.", "Choose a later day.", "day"), Refusal("Nobody is named.", "Name somebody."))
    assert form.errors["day"] == ["Too early. Choose a later day."]
    assert form.non_field_errors() == ["Nobody is named. Name somebody."]


def test_what_two_rules_find_is_said_once() -> None:
    twice = Refusal("Too early.", "Choose a later day.", "day")
    assert refused(twice, twice, twice).errors["day"] == ["Too early. Choose a later day."]


@pytest.mark.parametrize("field", ["day", ""])
def test_the_form_says_that_nothing_is_saved_and_nothing_typed_is_lost(field: str) -> None:
    shown = render_to_string("practice/errors.html", {"form": refused(Refusal("No.", "Ask.", field))})
    assert shown.count("Nothing is saved yet.") == 1 and "What you typed is still here." in shown


def test_above_a_form_what_is_wrong_and_what_supplies_it_are_two_lines_as_on_a_page() -> None:
    shown = render_to_string("practice/errors.html", {"form": refused(Refusal("Nobody is named.", "Name somebody."))})
    assert "<b>Nobody is named.</b>" in shown and ">Name somebody.</p>" in shown and 'role="alert"' in shown
    assert 'id="form-errors"' in shown and 'tabindex="-1"' in shown and "data-row" not in shown


def test_above_a_form_a_field_is_named_once_and_its_words_stand_at_the_field_alone() -> None:
    shown = render_to_string("practice/errors.html", {"form": refused(Refusal("Too early.", "Wait.", "day"))})
    assert shown.count('<a href="#id_day">Day</a>') == 1 and "Too early." not in shown


def test_what_is_wrong_with_a_hidden_field_is_said_above_the_form() -> None:
    """Nothing else would say why the form came back."""

    class Hidden(Slip):
        page = forms.CharField(widget=forms.HiddenInput, error_messages={"required": "This page is too old."})

    form = Hidden({"day": "3 Mar 2025"})
    assert "This page is too old." in render_to_string("practice/errors.html", {"form": form})


def test_the_one_list_of_refusals_says_what_is_missing_and_what_mends_it() -> None:
    given: dict[str, Any] = {"refusals": [Refusal("It lacks the language.", "Record it again.")], "title": "Not yet"}
    shown = render_to_string("parts/lacks.html", given)
    assert "It lacks the language." in shown and "Record it again." in shown and shown.count('data-row="missing"') == 1


# Not refusals: what is still to come of a plan or of what something rests on, and what is done next.
OTHERS = {"plan.html", "going_live.html", "enter.html", "faults.html"}


def test_no_page_draws_a_list_of_refusals_of_its_own() -> None:
    own = {path.name for path in templates() if ".supply }}" in path.read_text()}
    assert own - OTHERS == {"lack.html"}
