"""The list of chemicals, copied from label and data sheet."""

from datetime import date
from typing import Any

from django import forms

from clinic.actions.chemicals import Chemical
from clinic.forms.base import DayField, SubmissionForm, with_button
from clinic.models import ChemicalListed
from clinic.rules.chemicals import HEALTH, PHYSICAL

HAZARDS = [("Health", [(name, name) for name in HEALTH]), ("Physical", [(name, name) for name in PHYSICAL])]


class ChemicalForm(SubmissionForm):
    product = forms.CharField(max_length=120, error_messages={"required": "Write the product as on its label."})
    hazard_classes = forms.MultipleChoiceField(
        label="Hazard classes", choices=HAZARDS, required=False, widget=forms.CheckboxSelectMultiple,
        help_text="As in section 2 of its data sheet. None ticked: the sheet names none.",
        error_messages={"invalid_choice": "“%(value)s” is no hazard class. Tick those of the list."},
    )  # fmt: skip
    sheet_revision = DayField(label="Revision of its data sheet")
    place = forms.CharField(
        label="Where it stands", max_length=120, error_messages={"required": "Say where it stands."}
    )
    since = DayField(label="From which day")

    def __init__(self, *args: Any, button: str = "Put it on the list", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, button)

    @property
    def chemical(self) -> Chemical:
        said = self.cleaned_data
        classes = tuple(said["hazard_classes"])
        return Chemical(said["product"].strip(), classes, said["sheet_revision"], said["place"].strip(), said["since"])


def as_listed(row: ChemicalListed, today: date) -> dict[str, Any]:
    """What a change starts from."""
    said = {name: getattr(row, name) for name in ("product", "hazard_classes", "sheet_revision", "place")}
    return said | {"since": today}


class GoneForm(SubmissionForm):
    day = DayField(label="Not here any more from")


class OnDayForm(forms.Form):
    """The list of any day."""

    day = DayField(label="On the list on")
