"""Forms for signing in and choosing a password."""

from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm, SetPasswordForm

from clinic.forms.base import with_button


class SignIn(AuthenticationForm):
    error_messages = {
        "invalid_login": "Name and password do not belong together. Type both again; a forgotten password is renewed by a new invitation from your coordinator.",
        "inactive": "This account is closed. Ask your coordinator.",
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = "Sign-in name"
        self.helper = with_button(self, "Sign in")


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
