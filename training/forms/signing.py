"""Forms for signing, withdrawing and putting right."""

from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True)
class BeforeSigning:
    """What is known before anybody signs. `proved`: the sign-in name that signed with both parts before in this session;
    empty where both are asked. `me`: the sign-in name of whoever is signed in, where their PIN counts here. `by_pin`: whether
    somebody's does."""

    proved: str = ""
    me: str = ""
    by_pin: bool = False


class Proof(SubmissionForm):
    """Who is signing, proved again (rows E-19 to E-21): name and password; only the password once the same person has
    signed with both in this session and it did not lie idle.

    Where a PIN counts, it is as good as the password, and the name stands in its field already: both parts are sent."""

    takes_pin = True

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

    def __init__(self, known: BeforeSigning, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.known_as = known.proved
        name, secret = self.fields["sign_in_name"], self.fields["password"]
        if known.proved:
            name.required = False
            name.label = "Sign-in name, where somebody else signs"
            name.help_text = f"Left empty, {known.proved} signs: proved by name before."
        self.by_pin = known.by_pin and self.takes_pin
        if self.by_pin:
            self.initial["sign_in_name"] = "" if known.proved else known.me
            secret.label = "PIN or password"
            secret.widget.attrs |= {"data-digits": ""}  # the keys for digits, and a way back to letters: page.js
            secret.error_messages["required"] = "Type your PIN or password: being signed in is not enough to sign."

    @property
    def name(self) -> str:
        return self.cleaned_data["sign_in_name"] or self.known_as

    @property
    def by_password_alone(self) -> bool:
        return not self.cleaned_data["sign_in_name"]


class SignForm(Proof):
    """The very words, and who signs them."""

    statement = forms.CharField(widget=forms.HiddenInput)

    def __init__(self, statement: str, known: BeforeSigning, *args: Any, **kwargs: Any) -> None:
        super().__init__(known, *args, **kwargs)
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
