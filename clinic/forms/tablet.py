"""The unit that a tablet stands at."""

from datetime import date
from typing import Any

from django import forms

from clinic.forms.base import with_button
from clinic.models import Equipment, Site


class TabletForm(forms.Form):
    equipment = forms.ModelChoiceField(
        Equipment.objects.none(),
        label="It stands at",
        empty_label="Choose a unit",
        error_messages={"required": "Choose a unit.", "invalid_choice": "Choose a unit in service at this site."},
    )

    def __init__(self, site: Site, today: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        units = Equipment.objects.filter(site=site).in_service_on(today).exclude(kind="site")
        self.fields["equipment"].queryset = units  # type: ignore[attr-defined]
        self.helper = with_button(self, "Fix this tablet here")
