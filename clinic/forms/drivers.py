"""What is written about torque drivers and references, and the readings of a verification."""

from decimal import Decimal, InvalidOperation
from fractions import Fraction
from typing import Any

from django import forms

from clinic.forms.base import DayField, SubmissionForm, with_button
from clinic.models import DriverDetails, Equipment
from clinic.rules.torque import CLASS_SAYS, SCALED, DriverClass, Paper, check_points, readings_needed
from clinic.rules.torque_units import Unit, rounded

PAPERS = [(paper.value, paper.value.capitalize()) for paper in Paper]


class TorqueField(forms.CharField):
    """A number above 0, kept as it was typed."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            max_length=20, widget=forms.TextInput(attrs={"class": "is-short", "inputmode": "decimal"}), **kwargs
        )

    def clean(self, value: Any) -> str:
        typed = str(super().clean(value))
        number = as_decimal(typed)
        if typed and (number is None or number <= 0):
            raise forms.ValidationError("Write a number above 0, such as 12.5.")
        return typed


def as_decimal(typed: str) -> Decimal | None:
    try:
        number = Decimal(typed)
    except InvalidOperation:
        return None
    return number if number.is_finite() else None


class DriverForm(SubmissionForm):
    """There is no default torque: the unit’s maker sets it (T-14)."""

    driver_class = forms.ChoiceField(
        label="Class", choices=[("", "Choose"), *((c.value, f"{c.value}: {CLASS_SAYS[c]}") for c in DriverClass)], error_messages={"required": "Choose the class on its paper."},
    )  # fmt: skip
    seat = forms.CharField(
        label="What it fits",
        max_length=40,
        help_text="Such as “hex 1.3”, as on the tool’s packet.",
        error_messages={"required": "Write what it fits."},
    )
    set_torque = TorqueField(
        label="Set torque",
        help_text="The target of the unit’s maker. There is no default.",
        error_messages={"required": "Enter the maker’s figure."},
    )
    most_torque = TorqueField(
        label="Largest torque", error_messages={"required": "Enter the largest torque on its paper."}
    )
    lowest_marked = TorqueField(label="Lowest marked torque", required=False)
    torque_unit = forms.ChoiceField(
        label="Unit of torque",
        choices=[(unit.value, unit.value) for unit in Unit],
        initial=Unit.NEWTON_CENTIMETRE.value,
    )
    target_source = forms.CharField(
        label="Where the maker gives the target torque",
        max_length=200,
        error_messages={"required": "Say where it stands in the maker’s instructions."},
    )
    declared_percent = TorqueField(
        label="Declared limit, %",
        required=False,
        help_text="Where its maker declares a tighter one than 6 % (4 % for wrenches above 10 N·m).",
    )
    paper = forms.ChoiceField(choices=PAPERS)
    paper_number = forms.CharField(max_length=60, required=False)
    day = DayField(label="From")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Save what the driver is")

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        target, most = as_decimal(values.get("set_torque") or ""), as_decimal(values.get("most_torque") or "")
        if target and most and target > most:
            self.add_error("set_torque", "It is above the largest torque of the driver. Check both.")
        return values


class ReferenceForm(SubmissionForm):
    percent = TorqueField(
        label="Right within, %",
        help_text="With its uncertainty; 1 % or better is needed.",
        error_messages={"required": "Enter the figure on its paper."},
    )
    good_through = DayField(label="Its own check is good through")
    paper = forms.ChoiceField(choices=PAPERS)
    paper_number = forms.CharField(max_length=60, required=False)
    day = DayField(label="From")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Save what the reference is")


class VerificationForm(SubmissionForm):
    """A field of readings for each test point of the driver’s class."""

    reference = forms.ModelChoiceField(
        Equipment.objects.none(),
        empty_label="Choose the reference",
        error_messages={"required": "Choose the reference.", "invalid_choice": "Choose a reference of this site."},
    )
    room_lowest = TorqueField(label="Room, lowest °C", error_messages={"required": "Write the temperature."})
    room_highest = TorqueField(label="Room, highest °C", error_messages={"required": "Write the temperature."})
    note = forms.CharField(max_length=1000, required=False, widget=forms.Textarea(attrs={"rows": 2}))
    day = DayField(label="Day")

    def __init__(self, details: DriverDetails, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["reference"].queryset = Equipment.objects.filter(site=details.site_id, kind="reference driver")  # type: ignore[attr-defined]
        driver = DriverClass(details.driver_class)
        self.set_values = set_values(details)
        for index, value in enumerate(self.set_values):
            self.fields[f"point_{index}"] = forms.CharField(
                label=f"Readings of the reference at {value} {details.torque_unit}", max_length=400,
                help_text=f"{readings_needed(driver)} readings, in the order read, with spaces between.",
                error_messages={"required": "Write the readings."},
            )  # fmt: skip
        self.order_fields(
            [
                "reference",
                *(f"point_{index}" for index in range(len(self.set_values))),
                "room_lowest",
                "room_highest",
                "day",
                "note",
            ]
        )
        self.helper = with_button(self, "Save the readings")

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        for index in range(len(self.set_values)):
            wrong = [word for word in str(values.get(f"point_{index}", "")).split() if (as_decimal(word) or 0) <= 0]
            if wrong:
                self.add_error(
                    f"point_{index}",
                    f"{', '.join(wrong)}: not a number above 0. Write each as 12.3, with spaces between.",
                )
        return values

    @property
    def points(self) -> list[dict[str, Any]]:
        return [
            {"set": value, "readings": self.cleaned_data[f"point_{index}"].split()}
            for index, value in enumerate(self.set_values)
        ]


def set_values(details: DriverDetails) -> list[str]:
    """Three test points for a driver with a scale, the set torque for any other (T-07, T-08)."""
    if DriverClass(details.driver_class) not in SCALED:
        return [details.set_torque]
    return [shown(point) for point in check_points(details.most_torque, details.lowest_marked or None)]


def shown(value: Fraction) -> str:
    return f"{rounded(value, 3).normalize():f}"
