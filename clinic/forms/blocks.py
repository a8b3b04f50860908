"""Lots of blocks with their factor."""

from typing import Any

from django import forms

from clinic.forms.base import DayField, SubmissionForm, with_button
from clinic.models import BlockLot, Site
from clinic.models.tools import choices
from clinic.rules.tools import TYPO_ABOVE, TYPO_BELOW, Material

FACTOR = {
    "invalid": "Write the factor as on the packet, such as 1.2340.",
    "required": "Write the factor.",
    "max_decimal_places": "At most four digits after the point.",
}
FACTOR_RANGE = f"A factor lies between {TYPO_BELOW} and {TYPO_ABOVE}. A shrinkage in percent is another number."


class FactorField(forms.DecimalField):
    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            max_digits=6,
            decimal_places=4,
            error_messages=FACTOR,
            widget=forms.TextInput(attrs={"class": "is-short", "inputmode": "decimal"}),
            **kwargs,
        )

    def clean(self, value: Any) -> Any:
        number = super().clean(value)
        if number is not None and not TYPO_BELOW <= number <= TYPO_ABOVE:
            raise forms.ValidationError(FACTOR_RANGE)
        return number


class LotForm(forms.Form):
    lot = forms.CharField(label="Lot, as on the packet", max_length=60, error_messages={"required": "Write the lot."})
    material = forms.ChoiceField(choices=choices(Material))
    factor = FactorField(
        label="Enlargement factor on the packet", required=False, help_text="For what shrinks when it is fired."
    )
    received_on = DayField(label="Received on")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Enter the lot")


class FactorForm(SubmissionForm):
    """What was typed into the unit for a job."""

    lot = forms.ModelChoiceField(
        BlockLot.objects.none(),
        empty_label="Choose the lot",
        error_messages={"required": "Choose the lot.", "invalid_choice": "Choose a lot of this site."},
    )
    factor = FactorField(label="Factor typed in")

    def __init__(self, site: Site, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["lot"].queryset = BlockLot.objects.filter(site=site)  # type: ignore[attr-defined]
        self.helper = with_button(self, "Check the factor")
