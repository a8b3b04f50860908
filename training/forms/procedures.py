"""Forms of the procedures' pages: looking, choosing a unit and a version, the check against the maker's instructions, retiring."""

from datetime import date
from typing import Any

from django import forms

from clinic.forms.base import DayField, SubmissionForm, with_button
from training.forms.signing import BeforeSigning, Proof


class SearchForm(forms.Form):
    """Words to look for. Anything is a good question."""

    words = forms.CharField(required=False, max_length=120, label="Words to look for")


class InstructionsForm(Proof):
    """Which instructions the version was held against, in which edition, when, and who says so, proved again."""

    title = forms.CharField(
        max_length=200, label="Title of the maker’s instructions",
        error_messages={"required": "Write the title on the cover of the instructions."},
    )  # fmt: skip
    edition = forms.CharField(
        max_length=80, label="Edition", help_text="The edition, revision or date that is printed on it.",
        error_messages={"required": "Write the edition or the date that is printed on the instructions."},
    )  # fmt: skip
    day = DayField(label="Day on which you checked it")
    field_order = ["submission", "title", "edition", "day", "sign_in_name", "password"]

    def __init__(self, today: date, known: BeforeSigning, *args: Any, **kwargs: Any) -> None:
        super().__init__(known, *args, **kwargs)
        self.fields["day"].initial = today
        self.helper = with_button(self, "I checked it")


class RetireForm(SubmissionForm):
    """From which day, and why."""

    day = DayField(label="Retired from")
    reason = forms.CharField(
        label="Why", widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Say in a sentence why it is retired."},
    )  # fmt: skip

    def __init__(self, today: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["day"].initial = today
        self.helper = with_button(self, "Retire it")
