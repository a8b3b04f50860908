"""How a site writes and prints, and whom its binders name."""

from typing import Any
from zoneinfo import available_timezones

from django import forms
from django.core.exceptions import ValidationError

from clinic.forms.base import with_button
from clinic.forms.roster import words
from clinic.models import PaperSize, Site
from clinic.site_ways import right_or_why


class SiteWays(forms.Form):
    """Time zone, paper, the country whose order days in figures have, and who coordinates infection prevention."""

    time_zone = forms.ChoiceField(
        label="Time zone", choices=[(zone, zone) for zone in sorted(available_timezones())],
        help_text="Which day it is at the site. What was recorded keeps its day.",
        error_messages={"required": "Choose the time zone.", "invalid_choice": "Choose one of the time zones."},
    )  # fmt: skip
    paper = forms.ChoiceField(
        label="Paper", choices=PaperSize, error_messages={"required": "Choose the paper.", "invalid_choice": "Choose one of the two."}
    )  # fmt: skip
    language = words(
        "Language and country", "Write it, such as en-GB.", "Such as en-GB or en-US: 03/04 is read in the order of the country.", 20
    )  # fmt: skip

    infection_coordinator = forms.CharField(
        label="Infection-prevention coordinator", required=False, max_length=160,
        help_text="Name, and how they were trained: the first page of a binder names them. Empty: it says that nobody is named.",
    )  # fmt: skip

    def __init__(self, site: Site, data: Any = None) -> None:
        super().__init__(data, initial={name: getattr(site, name) for name in self.base_fields})
        self.helper = with_button(self, "Save the change")

    def clean_language(self) -> str:
        word: str = self.cleaned_data["language"]
        if why := right_or_why("language", word):
            raise ValidationError(why)
        return word
