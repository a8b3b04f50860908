"""What every form of the register shares: days read as people type them, one submission one fact, refusals in place."""

from datetime import date
from typing import Any
from uuid import UUID, uuid4

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Submit
from django import forms
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError

from clinic.record import Refused
from clinic.rules.reading_days import FIRST_DAY, LAST_DAY, Reading
from clinic.rules.words import short_day
from clinic.site_days import reading


class DayField(forms.DateField):
    """A day as people type it. What may mean two days, such as 03/04/2026, is asked once: the field then holds the day in
    words, and sending it again says that this was meant."""

    default_error_messages = {
        "invalid": "Write the day with the month’s name, such as 25 Nov 2026.",
        "required": "Write the day, such as 25 Nov 2026.",
        "far": f"Write a day from {FIRST_DAY.year} to {LAST_DAY.year}.",
    }

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault(
            "widget", forms.DateInput(format="%-d %b %Y", attrs={"autocomplete": "off", "inputmode": "text"})
        )
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> Any:
        if value in self.empty_values or isinstance(value, date):
            return super().to_python(value)
        read = reading(str(value))
        if read is None:
            raise ValidationError(self.error_messages["invalid"], code="invalid")
        if not FIRST_DAY <= read.day <= LAST_DAY:
            raise ValidationError(self.error_messages["far"], code="far")
        if read.doubt:
            raise ValidationError(asked(str(value), read), code="asked")
        return read.day

    def bound_data(self, data: Any, initial: Any) -> Any:
        """What was typed, read back in words."""
        data = super().bound_data(data, initial)
        read = reading(data) if isinstance(data, str) else None
        return short_day(read.day) if read and FIRST_DAY <= read.day <= LAST_DAY else data


def asked(typed: str, read: Reading) -> str:
    """The question about a day that may be two."""
    other = f" If you mean {short_day(read.other)}, write that." if read.other else ""
    return f"“{typed.strip()}” is read as {short_day(read.day)}. If that is right, send this again.{other}"


class SubmissionForm(forms.Form):
    """Carries an id made when the page was drawn. The action records its fact under it, so that sending twice records once."""

    submission = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)

    @property
    def fact_id(self) -> UUID:
        return self.cleaned_data["submission"]


class SecondButton(Submit):
    """Sends the form as the main button does, and stands back behind it."""

    is_second = True


def with_button(form: forms.BaseForm, words: str, name: str = "go", *, in_columns: bool = False) -> FormHelper:
    """A helper for `{% crispy form %}`: posts to the same address, with one main button named by what it does. `in_columns`:
    a long form whose order says nothing stands in two where there is room."""
    helper = FormHelper(form)
    helper.form_class = "is-in-columns" if in_columns else ""
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
