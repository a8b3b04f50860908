"""What a unit was used for: one tap, or a file."""

from typing import Any

from django import forms

from clinic.actions.upkeep import MOST_UNITS
from clinic.csv_rows import LIMITS, MOST_BYTES
from clinic.forms.base import DayField, SubmissionForm
from clinic.rules.tools import MATERIALS, WAYS, Material

TAPS = [
    (Material.ZIRCONIA, "dry"),
    (Material.GLASS_CERAMIC, "wet"),
    (Material.POLYMER, "dry"),
    (Material.ZIRCONIA, "wet"),
    (Material.POLYMER, "wet"),
]


class UseForm(SubmissionForm):
    """How many, and on which day; `what` is the button that was tapped: material and way, with a bar between them."""

    units = forms.IntegerField(
        label="How many", min_value=1, max_value=MOST_UNITS, initial=1, widget=forms.NumberInput(attrs={"class": "is-short"}),
        error_messages={
            "required": "Count what was made.", "invalid": "Write a whole number, such as 3.", "min_value": "The number must be at least one.",
            "max_value": f"That many in one go cannot be right. Enter at most {MOST_UNITS:,}.",
        },
    )  # fmt: skip
    day = DayField(label="Day")
    what = forms.CharField(required=False, max_length=60, widget=forms.HiddenInput)

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        material, _, way = values.get("what", "").partition("|")
        if material and (material not in MATERIALS or way not in WAYS):
            self.add_error(None, "Tap one of the materials.")
        return values | {"material": material, "wet": WAYS.get(way) if material else None}


class UseFile(forms.Form):
    """The file, or its text again once it was looked at."""

    file = forms.FileField(
        label="File",
        required=False,
        help_text=f"A CSV file with the columns day, unit, units, material, way. {LIMITS}",
    )
    text = forms.CharField(required=False, max_length=MOST_BYTES, widget=forms.HiddenInput, strip=False)

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        if not values.get("file") and not values.get("text"):
            self.add_error("file", "Choose the file.")
        return values
