"""Repaired, recall finished, chamber empty: one tap each."""

from typing import Any

from django import forms

from clinic.forms.base import SubmissionForm
from clinic.models import Equipment, Site, SteriliserEvent, UpkeepEntry


class SteriliserForm(SubmissionForm):
    equipment = forms.ModelChoiceField(
        Equipment.objects.none(),
        empty_label="Choose the steriliser",
        error_messages={"required": "Choose the steriliser.", "invalid_choice": "Choose a steriliser of this site."},
    )
    what = forms.ChoiceField(
        choices=SteriliserEvent.What.choices,
        error_messages={"required": "Tap what happened.", "invalid_choice": "Tap what happened."},
    )
    entry = forms.ModelChoiceField(
        UpkeepEntry.objects.none(),
        required=False,
        empty_label="No test, or choose",
        error_messages={"invalid_choice": "Choose a test of this site."},
    )

    def __init__(self, site: Site, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["equipment"].queryset = Equipment.objects.filter(site=site, kind="steriliser")  # type: ignore[attr-defined]
        self.fields["entry"].queryset = UpkeepEntry.objects.live().filter(site=site, task__code="U10")  # type: ignore[attr-defined]
