"""What is written about torque drivers and references, and the readings of a verification."""

import re
from collections.abc import Sequence
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from typing import Any

from django import forms

from clinic.forms.base import DayField, SubmissionForm, with_button
from clinic.models import DriverDetails, Equipment
from clinic.reads.drivers import limit_of
from clinic.rules.torque import (
    CLASS_SAYS,
    ROOM_SWAPPED,
    SCALED,
    DriverClass,
    DriverPaper,
    check_points,
    details_refusals,
    reading_refusal,
    readings_needed,
    window,
)
from clinic.rules.torque_units import Unit, rounded
from clinic.rules.words import begun

SURE = "These are the readings; take the driver out of use"
PAPERS = [(paper.value, begun(paper.value)) for paper in DriverPaper]


class TorqueField(forms.CharField):
    """A number above 0, kept as it was typed."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            max_length=20, widget=forms.TextInput(attrs={"class": "is-short", "inputmode": "decimal"}), **kwargs
        )

    def clean(self, value: Any) -> str:
        typed = str(super().clean(value))
        number = as_decimal(typed)
        if typed and (number is None or number <= 0 or not PLAIN.fullmatch(typed)):
            raise forms.ValidationError(f"Write a number above 0 and below {MOST:,} in digits, such as 12.5.")
        return typed


PLAIN = re.compile(r"[0-9]{1,5}(\.[0-9]{1,6})?")
"""Digits with a point: no driver of a practice needs more, and 1e3000000 would fill pages with noughts."""
MOST = 100_000


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
        target, most = values.get("set_torque"), values.get("most_torque")
        if target and most:
            for name, says in details_refusals(target, most, values.get("lowest_marked") or None).items():
                self.add_error(name, says)
        return values


class ReferenceForm(SubmissionForm):
    percent = TorqueField(
        label="Right within, %",
        help_text="With its uncertainty; 1 % or better is needed.",
        error_messages={"required": "Enter the figure on its paper."},
    )
    good_through = DayField(label="Its own check is good through")
    paper = forms.ChoiceField(choices=PAPERS)
    paper_number = forms.CharField(label="Number of the paper", max_length=60, required=False)
    paper_day = DayField(label="Day of the paper", required=False, help_text="As it stands on the paper.")
    day = DayField(label="From")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Save what the reference is")


class VerificationForm(SubmissionForm):
    """A field for each reading at each test point of the driver’s class, judged as it is typed (T-07, T-08)."""

    reference = forms.ModelChoiceField(
        Equipment.objects.none(),
        empty_label="Choose the reference",
        error_messages={"required": "Choose the reference.", "invalid_choice": "Choose a reference of this site."},
    )
    room_lowest = TorqueField(label="Room, lowest °C", error_messages={"required": "Write the temperature."})
    room_highest = TorqueField(label="Room, highest °C", error_messages={"required": "Write the temperature."})
    note = forms.CharField(max_length=1000, required=False, widget=forms.Textarea(attrs={"rows": 2}))
    day = DayField(label="Day")
    sure = forms.BooleanField(label=SURE, required=False, widget=forms.HiddenInput)

    def __init__(self, details: DriverDetails, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["reference"].queryset = Equipment.objects.filter(site=details.site_id, kind="reference driver")  # type: ignore[attr-defined]
        driver = DriverClass(details.driver_class)
        self.set_values = set_values(details)
        self.each, limit = readings_needed(driver), limit_of(details)
        for index, value in enumerate(self.set_values):
            for number in range(self.each):
                label = f"At {value} {details.torque_unit}, reading {number + 1} of {self.each}"
                self.fields[f"point_{index}_{number}"] = ReadingField(value, limit, label)
        readings = [name for name in self.fields if name.startswith("point_")]
        self.order_fields(["reference", *readings, "room_lowest", "room_highest", "day", "note", "sure"])
        self.helper = with_button(self, "Save the readings")

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        low, high = (as_decimal(values.get(name) or "") for name in ("room_lowest", "room_highest"))
        if low and high and low > high:
            self.add_error("room_highest", ROOM_SWAPPED)
        return values

    def ask_whether_sure(self, reasons: Sequence[str]) -> None:
        """These readings take the driver out of use: shown once, and saved when they are sent again with the tick."""
        self.fields["sure"].widget = forms.CheckboxInput()
        self.add_error("sure", f"It does not pass. {' '.join(reasons)} {LOOK_AGAIN}")

    @property
    def points(self) -> list[dict[str, Any]]:
        said = self.cleaned_data
        return [
            {"set": value, "readings": [said[f"point_{index}_{number}"] for number in range(self.each)]}
            for index, value in enumerate(self.set_values)
        ]


LOOK_AGAIN = "Nothing is saved yet. Look at what you typed; where it is what was read, tick this and save again."


class ReadingField(TorqueField):
    """One reading, with the window that passes beside it, so that a script says at once what the server will say."""

    def __init__(self, set_value: str, limit: Fraction, label: str) -> None:
        super().__init__(label=label, error_messages={"required": "Write this reading."})
        self.set_value = set_value
        low, high = window(set_value, limit)
        self.widget.attrs |= {
            "data-low": f"{rounded(low, 4)}", "data-high": f"{rounded(high, 4)}", "autocomplete": "off",
            "data-what": "The driver does not pass with it.",
        }  # fmt: skip

    def clean(self, value: Any) -> str:
        typed = super().clean(value)
        wrong = reading_refusal(self.set_value, typed)
        if wrong:
            raise forms.ValidationError(wrong)
        return typed


def set_values(details: DriverDetails) -> list[str]:
    """Three test points for a driver with a scale, the set torque for any other (T-07, T-08)."""
    if DriverClass(details.driver_class) not in SCALED:
        return [details.set_torque]
    return [shown(point) for point in check_points(details.most_torque, details.lowest_marked or None)]


def shown(value: Fraction) -> str:
    return f"{rounded(value, 3).normalize():f}"
