"""Forms for signing, withdrawing and putting right."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from clinic.forms.base import SubmissionForm, with_button

CHANGED = "What is signed changed since this page was opened. Read it again, then sign."


class WhyNot(SubmissionForm):
    """Why a critical miss does not end a sign-off."""

    reason = forms.CharField(
        label="Why the sign-off may stand",
        max_length=2000,
        help_text="One or two sentences: what was seen, and what was agreed.",
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Say why the sign-off may stand, or withdraw it."},
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "It stands, for this reason")


class Proof(SubmissionForm):
    """Who is signing, proved again (rows E-19 to E-21): name and password; only the password once the same person has
    signed with both in this session and it did not lie idle."""

    sign_in_name = forms.CharField(
        label="Sign-in name of whoever signs",
        max_length=150,
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}),
        error_messages={"required": "Type the sign-in name of whoever signs."},
    )
    password = forms.CharField(
        label="Password",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "off"}),
        help_text="What is signed with it is signed by you, and is never edited. Give it to nobody.",
        error_messages={"required": "Type the password: being signed in is not enough to sign."},
    )

    def __init__(self, known_as: str, *args: Any, **kwargs: Any) -> None:
        """`known_as`: the sign-in name that was proved before in this session; empty where both are asked."""
        super().__init__(*args, **kwargs)
        self.known_as = known_as
        if known_as:
            self.fields["sign_in_name"].required = False
            self.fields["sign_in_name"].label = "Sign-in name, where somebody else signs"
            self.fields["sign_in_name"].help_text = f"Left empty, {known_as} signs: proved by name and password before."

    @property
    def name(self) -> str:
        return self.cleaned_data["sign_in_name"] or self.known_as

    @property
    def by_password_alone(self) -> bool:
        return not self.cleaned_data["sign_in_name"]


class SignForm(Proof):
    """The very words, and who signs them."""

    statement = forms.CharField(widget=forms.HiddenInput)

    def __init__(self, statement: str, known_as: str, *args: Any, **kwargs: Any) -> None:
        super().__init__(known_as, *args, **kwargs)
        self.stated = statement
        self.initial["statement"] = statement

    def clean_statement(self) -> str:
        if self.cleaned_data["statement"].split() != self.stated.split():
            raise ValidationError(CHANGED)
        return self.stated


class WithdrawForm(Proof):
    """Why somebody may no longer work alone in it, and who says so."""

    reason = forms.CharField(
        label="Why",
        max_length=2000,
        help_text="About the work: what was seen. Nothing here names or is linked to an incident.",
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Say why: name what was seen, in a sentence."},
    )
    field_order = ["submission", "reason", "sign_in_name", "password"]


class TakeBackForm(Proof):
    """Why a recorded fact is taken back, and who says so."""

    reason = forms.CharField(
        label="What was wrong with it",
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Say in a few words what was wrong."},
    )
    field_order = ["submission", "reason", "sign_in_name", "password"]
