"""Forms of a person's days: the days of the week worked, and days away."""

from datetime import date
from typing import Any

from django import forms

from clinic.forms.base import DayField, with_button
from clinic.models import Person, Site
from clinic.rules.words import WEEKDAYS


class WorkingDays(forms.Form):
    """Seven boxes. The same days as the site's are kept as "as the site", so that they follow it."""

    days = forms.MultipleChoiceField(
        label="Works on",
        choices=[(str(number), name) for number, name in enumerate(WEEKDAYS)],
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one day. For nobody who left: enter the last day on the roster."},
    )

    def __init__(self, site: Site, person: Person, *args: Any, **kwargs: Any) -> None:
        worked = person.working_days or site.working_days
        kwargs.setdefault("initial", {"days": [str(number) for number, one in enumerate(worked) if one == "1"]})
        super().__init__(*args, **kwargs)
        self.site = site
        self.helper = with_button(self, "Save the days", name="week")

    @property
    def pattern(self) -> str:
        chosen = "".join("1" if str(number) in self.cleaned_data["days"] else "0" for number in range(len(WEEKDAYS)))
        return "" if chosen == self.site.working_days else chosen


class Away(forms.Form):
    """From a day through a day."""

    from_day = DayField(label="Away from")
    to_day = DayField(label="Through", help_text="The last day away.")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Enter the days away", name="away")

    @property
    def stretch(self) -> dict[str, date]:
        return {"first": self.cleaned_data["from_day"], "last": self.cleaned_data["to_day"]}
