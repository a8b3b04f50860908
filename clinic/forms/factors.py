"""Forms of one's own account: what is proved after the password, added, removed; and another password."""

from typing import Any

from django import forms
from django.contrib.auth.forms import SetPasswordForm

from clinic.forms.base import SubmissionForm, with_button
from clinic.models.factors import LONGEST_LABEL

CODE_FIELD = {"autocomplete": "one-time-code", "autocapitalize": "none", "spellcheck": "false"}


def own_password(label: str = "Your password") -> forms.CharField:
    return forms.CharField(
        label=label,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": "Type your password: being signed in is not enough for this."},
    )


def label_field(example: str) -> forms.CharField:
    return forms.CharField(
        label="What you call it",
        max_length=LONGEST_LABEL,
        help_text=f"So that you know which one it is: “{example}”.",
        error_messages={"required": f"Give it a name, such as “{example}”."},
    )


class ProveSecond(forms.Form):
    """A code, or what the browser says of a passkey. One of them."""

    code = forms.CharField(
        label="Code",
        max_length=60,
        widget=forms.TextInput(attrs=CODE_FIELD),
        error_messages={"required": "Type the code."},
    )
    credential = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, data: Any = None) -> None:
        super().__init__(data)
        self.fields["code"].required = not (data and data.get("credential"))


class AddApp(SubmissionForm):
    code = forms.CharField(
        label="The code that it shows now",
        max_length=20,
        widget=forms.TextInput(attrs=CODE_FIELD | {"inputmode": "numeric", "class": "is-short"}),
        error_messages={"required": "Type the six digits that the app shows."},
    )
    label = label_field("my phone")
    password = own_password()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Add the app")


class NamePasskey(SubmissionForm):
    label = label_field("my laptop")
    password = own_password()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Go on")


class ProveOneself(SubmissionForm):
    password = own_password()


class ChangePassword(SetPasswordForm):
    password = own_password("Your password until now")
    field_order = ["password", "new_password1", "new_password2"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["new_password1"].label = "New password"
        self.fields["new_password1"].help_text = "At least 15 characters. Three or four words that only you would put together are good."  # fmt: skip
        self.fields["new_password2"].label = "The same password again"
        self.fields["new_password2"].help_text = ""
        self.helper = with_button(self, "Change the password")
