"""Forms for signing in and choosing a password."""

import logging
from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm, SetPasswordForm

from clinic import guessing
from clinic.forms.base import SubmissionForm, with_button
from clinic.models import AccountRecovery

logger = logging.getLogger(__name__)


class Paused(Exception):
    """Too many wrong passwords: this try was not looked at."""


class SignIn(AuthenticationForm):
    error_messages = {
        "invalid_login": "Name and password do not belong together. Type both again; where the password is forgotten, ask your coordinator to have the account opened anew.",
        "inactive": "This account is closed. Ask your coordinator.",
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = "Sign-in name"
        self.helper = with_button(self, "Sign in")
        self.helper.attrs |= {"data-unkept": "a name and a password, and nobody is there yet to keep it for"}

    def clean(self) -> dict[str, Any]:
        """The try is counted first, and looked at only where it may be. Raises Paused."""
        request: Any = self.request
        name, place = self.cleaned_data.get("username") or "", guessing.place_of(request)
        runs = guessing.to_sign_in(name, place)
        if name and self.cleaned_data.get("password") and not guessing.charge(runs):
            logger.warning("Signing in as %r is paused at %s: too many wrong passwords.", name[:60], place.address)
            raise Paused
        try:
            found = super().clean()
        except forms.ValidationError:
            logger.warning("A wrong password for signing in as %r from %s.", name[:60], place.address)
            raise
        if self.get_user():
            guessing.forget(runs)
        return found


class ChoosePassword(SetPasswordForm):
    accepts = forms.BooleanField(
        label="What is signed with this password is signed by me. I give it to nobody.",
        error_messages={"required": "Tick this box to go on: a signature must be yours alone."},
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["new_password1"].label = "New password"
        self.fields[
            "new_password1"
        ].help_text = "At least 15 characters. Three or four words that only you would put together are good."
        self.fields["new_password2"].label = "The same password again"
        self.fields["new_password2"].help_text = ""
        self.helper = with_button(self, "Set the password")


class AskRecovery(SubmissionForm):
    """Why an account is to be opened anew, and how it is known who asks."""

    how = forms.CharField(
        label="How it was checked who asks",
        max_length=500,
        help_text="By whom, where and how: “she stood before me at Millbrook Lane”. A call or a message is not enough.",
        error_messages={"required": "Say by whom, where and how it was checked."},
    )
    factor_lost = forms.BooleanField(
        label="The phone or passkey of the second factor is lost too.", required=False,
        help_text="It ends when the new password is chosen.",
    )  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Ask a second person to confirm")


class ConfirmRecovery(SubmissionForm):
    """The second person proves who they are, and says how the code goes to its owner."""

    way = forms.ChoiceField(
        label="How the code goes to its owner",
        choices=[],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose how the code goes.", "invalid_choice": "Choose one of the ways shown."},
    )
    sign_in_name = forms.CharField(
        label="Your sign-in name",
        max_length=150,
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}),
        error_messages={"required": "Type your sign-in name."},
    )
    password = forms.CharField(
        label="Your password",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "off"}),
        error_messages={"required": "Type your password: being signed in is not enough to confirm."},
    )

    def __init__(self, mail: str, *args: Any, **kwargs: Any) -> None:
        """`mail`: the address a code may be mailed to; empty where there is none."""
        super().__init__(*args, **kwargs)
        slip = (AccountRecovery.Way.SLIP.value, "On a slip that I hand over myself")
        mailed = [(AccountRecovery.Way.MAIL.value, f"By mail to {mail}; nobody else sees it")] if mail else []
        way: Any = self.fields["way"]
        way.choices = [*mailed, slip]
        way.initial = way.choices[0][0]
        self.helper = with_button(self, "Confirm, and let the code go")
