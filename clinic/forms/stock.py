"""The shelf, and the messages of units."""

from datetime import date
from typing import Any

from django import forms

from clinic.actions.stock import MOST
from clinic.forms.base import DayField, SubmissionForm, with_button
from clinic.models import Equipment, Site, StockLine
from clinic.models.tools import choices
from clinic.rules.stock import Shelf, StockSays
from clinic.rules.tools import Tool

NUMBER = {"required": "Write a number.", "min_value": "Write 0 or more.", "invalid": "Write a whole number, such as 3."}


class NumberField(forms.IntegerField):
    def __init__(self, **kwargs: Any) -> None:
        widget = forms.NumberInput(attrs={"class": "is-short"})
        super().__init__(min_value=0, max_value=MOST, error_messages=NUMBER, widget=widget, **kwargs)


class MovedForm(SubmissionForm):
    """One thing counted, come in or used."""

    name = forms.ChoiceField(label="What", error_messages={"required": "Choose what it is."})
    what = forms.ChoiceField(label="It was", choices=choices(StockSays))
    number = NumberField(label="How many")

    def __init__(self, lines: list[StockLine], data: Any = None) -> None:
        super().__init__(data)
        counted = [row.name for row in lines if row.shelf != Shelf.TOOL]
        self.fields["name"].choices = [("", "Choose"), *((name, name) for name in counted)]  # type: ignore[attr-defined]
        self.helper = with_button(self, "Save the number")


class LineForm(SubmissionForm):
    """What is kept in stock, and when more is ordered."""

    name = forms.CharField(max_length=80, error_messages={"required": "Write what it is."})
    shelf = forms.ChoiceField(label="Kind", choices=choices(Shelf))
    tool = forms.ChoiceField(
        label="Of spare tools: which kind", required=False, choices=[("", "No tool"), *choices(Tool)]
    )
    size = forms.CharField(max_length=40, required=False, help_text="Of spare tools, such as 2.0 mm; empty: any.")
    line = NumberField(label="Order at this number, or below")
    full = NumberField(label="Up to", help_text="0 where it is not kept any more.")
    day = DayField(label="From")

    def __init__(self, today: date, data: Any = None) -> None:
        super().__init__(data, initial={"day": today})
        self.helper = with_button(self, "Save the line")


class MessageForm(SubmissionForm):
    """A message of a unit, with what is done about it."""

    equipment = forms.ModelChoiceField(
        Equipment.objects.none(), label="Unit", required=False, empty_label="Every unit",
        error_messages={"invalid_choice": "Choose a unit of this site."},
    )  # fmt: skip
    code = forms.CharField(
        label="Its number or first words", max_length=40, error_messages={"required": "Write what the screen shows."}
    )
    shown = forms.CharField(label="What it says", max_length=200, required=False)
    remedy = forms.CharField(
        label="What we do", max_length=2000, widget=forms.Textarea(attrs={"rows": 3}), error_messages={"required": "Write what is done about it."},
        help_text="The maker’s instructions win. No name of a patient or a colleague.",
    )  # fmt: skip
    source = forms.CharField(label="Where that stands", max_length=200, required=False)

    def __init__(self, site: Site, data: Any = None) -> None:
        super().__init__(data)
        self.fields["equipment"].queryset = Equipment.objects.filter(site=site)  # type: ignore[attr-defined]
        self.helper = with_button(self, "Keep the message")
