"""Forms around a PIN: choosing one, and coming in by one."""

from typing import Any

from django import forms

from clinic.forms.base import SubmissionForm, with_button
from clinic.models import Pin
from clinic.rules.pins import LENGTH, is_pin


class PinField(forms.CharField):
    """Six digits, on the keys for digits; what was typed is never shown again."""

    def __init__(self, **kwargs: Any) -> None:
        keys = {"inputmode": "numeric", "autocomplete": "off", "maxlength": LENGTH, "class": "is-short"}
        super().__init__(**{"widget": forms.PasswordInput(attrs=keys)} | kwargs)

    def validate(self, value: Any) -> None:
        super().validate(value)
        if value and not is_pin(value):
            raise forms.ValidationError(f"A PIN is {LENGTH} digits.", code="invalid")


class ChoosePin(SubmissionForm):
    pin = PinField(
        label="Six digits",
        help_text="Not a birthday, a telephone number or the code of your phone. Show it to nobody: you sign with it.",
        error_messages={"required": "Choose six digits."},
    )
    again = PinField(label="The same six again", error_messages={"required": "Type them a second time."})
    password = forms.CharField(
        label="Your password", strip=False, widget=forms.PasswordInput(attrs={"autocomplete": "off"}),
        error_messages={"required": "Type your password: being signed in is not enough to choose a PIN."},
    )  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Choose this PIN")

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        if values.get("pin") and values.get("again") and values["pin"] != values["again"]:
            self.add_error("again", "These are not the same six digits. Type them again.")
        return values


class PinChoice(forms.ModelChoiceField):
    def label_from_instance(self, obj: Any) -> str:
        return str(obj.account.person)


class ByPin(forms.Form):
    """Who comes to this tablet, and their PIN. Named are those whose PIN counts here now, whoever was here last."""

    who = PinChoice(
        Pin.objects.none(), label="Who are you?", widget=forms.RadioSelect, empty_label=None,
        error_messages={
            "required": "Choose your name.",
            "invalid_choice": "That PIN counts no more here today. Sign in by name and password.",
        },
    )  # fmt: skip
    pin = PinField(label="PIN", error_messages={"required": "Type your six digits."})

    def __init__(self, here: list[Pin], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows: Any = Pin.objects.filter(pk__in=[row.pk for row in here]).select_related("account__person__home_site")
        self.fields["who"].queryset = rows.order_by(  # type: ignore[attr-defined]
            "account__person__family_name", "account__person__given_name", "pk"
        )
        if len(here) == 1:
            self.fields["who"].initial = here[0].pk
