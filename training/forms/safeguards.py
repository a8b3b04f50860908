"""A backup or a restore drill, as whoever keeps the computer notes it."""

from datetime import date
from typing import Any

from django import forms

from clinic.forms.base import DayField, SubmissionForm, with_button
from clinic.models import Person, Safeguard, Site


class SafeguardForm(SubmissionForm):
    kind = forms.ChoiceField(
        label="What was done",
        widget=forms.RadioSelect,
        choices=[
            (Safeguard.Kind.BACKUP.value, "Backup: a copy of the database was made"),
            (Safeguard.Kind.DRILL.value, "Restore drill: a copy was restored on trial, and its seals checked"),
        ],
        error_messages={"required": "Choose one of the two.", "invalid_choice": "Choose one of the two."},
    )
    on = DayField(label="On")
    good = forms.TypedChoiceField(
        label="How it went",
        widget=forms.RadioSelect,
        coerce=lambda word: word == "yes",
        choices=[("yes", "The copy is complete; after a drill: every seal was whole"), ("no", "It failed")],
        error_messages={"required": "Say how it went.", "invalid_choice": "Choose one of the two."},
    )
    said = forms.CharField(
        label="Where the copy is, or what the drill found",
        max_length=300,
        error_messages={"required": "Say where the copy is, or what the drill found."},
    )
    done_by = forms.ModelChoiceField(
        Person.objects.none(),
        label="Done by",
        empty_label="Choose",
        error_messages={"required": "Choose who did it.", "invalid_choice": "Choose one of the list."},
    )

    def __init__(self, site: Site, today: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["done_by"].queryset = Person.objects.at_site(site, today).by_name()  # type: ignore[attr-defined]
        self.helper = with_button(self, "Record it")
