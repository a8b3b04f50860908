"""What every form of the register shares: days written with the month's name, one submission one fact, refusals in place."""

from datetime import date
from typing import Any
from uuid import UUID, uuid4

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Submit
from django import forms
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError

from clinic.record import Refused

DAY_FORMATS = ["%d %b %Y", "%d %B %Y", "%Y-%m-%d"]
# Sums of days stay within the calendar: twenty years kept after the last of them is still a day.
FIRST_DAY, LAST_DAY = date(1900, 1, 1), date(2199, 12, 31)


class DayField(forms.DateField):
    """A day such as 25 Nov 2026. Never 03/04: that is two different days, and no evidence."""

    default_error_messages = {
        "invalid": "Write the day with the month’s name, such as 25 Nov 2026.",
        "required": "Write the day, such as 25 Nov 2026.",
        "far": f"Write a day from {FIRST_DAY.year} to {LAST_DAY.year}.",
    }

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault(
            "widget", forms.DateInput(format="%-d %b %Y", attrs={"autocomplete": "off", "inputmode": "text"})
        )
        super().__init__(input_formats=DAY_FORMATS, **kwargs)

    def to_python(self, value: Any) -> Any:
        day = super().to_python(" ".join(value.replace(",", " ").split()).title() if isinstance(value, str) else value)
        if day is not None and not FIRST_DAY <= day <= LAST_DAY:
            raise ValidationError(self.error_messages["far"], code="far")
        return day


class SubmissionForm(forms.Form):
    """Carries an id made when the page was drawn. The action records its fact under it, so that sending twice records once."""

    submission = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)

    @property
    def fact_id(self) -> UUID:
        return self.cleaned_data["submission"]


class SecondButton(Submit):
    """Sends the form as the main button does, and stands back behind it."""

    is_second = True


def with_button(form: forms.BaseForm, words: str, name: str = "go") -> FormHelper:
    """A helper for `{% crispy form %}`: posts to the same address, with one main button named by what it does."""
    helper = FormHelper(form)
    helper.form_method = "post"
    helper.attrs = {"novalidate": ""}
    helper.add_input(Submit(name, words))
    return helper


def add_refusals(form: forms.BaseForm, refused: Refused) -> None:
    """Show every refusal where it belongs: at its field, or above the form. What was typed stays."""
    for refusal in dict.fromkeys(refused.refusals):  # each said once, though two rules may find it
        where = refusal.field if refusal.field in form.fields else None
        words = f"{refusal.says} {refusal.supply}".strip()
        if words not in form.errors.get(where or NON_FIELD_ERRORS, ()):
            error: Any = ValidationError(words, code="refused")
            error.refusal = refusal  # above the form its two halves are shown apart
            form.add_error(where, error)
