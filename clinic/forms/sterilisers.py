"""Repaired, recall finished, chamber empty: one tap each. And what the monitors of a load showed."""

from typing import Any

from django import forms

from clinic.forms.base import SubmissionForm, with_button
from clinic.models import Equipment, Site, SteriliserEvent, UpkeepEntry
from clinic.rules.roles import TaskRole
from clinic.rules.spores import Monitors


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
        tests = UpkeepEntry.objects.live().filter(site=site, task__stands_for=TaskRole.SPORE_TEST)
        self.fields["entry"].queryset = tests  # type: ignore[attr-defined]


class LoadForm(SubmissionForm):
    """What is not ticked was not seen, and keeps the load from being released (W-17)."""

    load = forms.CharField(
        label="Number of the load", max_length=40, help_text="As on the printout of the steriliser.",
        error_messages={"required": "Write the number of the load."},
    )  # fmt: skip
    readings_fine = forms.BooleanField(label="Time, temperature and pressure are in range", required=False)
    inside_changed = forms.BooleanField(label="The indicator inside each pack has changed", required=False)
    inside_visible = forms.BooleanField(label="It can be seen without opening the pack", required=False)
    outside_changed = forms.BooleanField(
        label="The indicator outside each pack has changed", required=False, help_text="Needed where the one inside cannot be seen.",
    )  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Release the load")

    @property
    def monitors(self) -> Monitors:
        return Monitors(**{name: self.cleaned_data[name] for name in Monitors.__slots__})
