"""Injuries, other events and near misses. No names, and no medical detail: there is no field for it."""

from datetime import date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from django import forms

from clinic import clock
from clinic.forms.base import DayField, SubmissionForm, with_button
from clinic.models import Equipment, Incident, Person, Site
from clinic.port import procedure_on
from clinic.rules.incident_path import CAUSES
from clinic.rules.no_names import names_within

TIMES, NO_TIME = ["%H:%M", "%H.%M"], {"invalid": "Write the time as 14:30."}
PLACES = ("At the milling unit", "Tool bench", "Tank and filter", "Steriliser", "Treatment room", "Somewhere else")
WHAT = (
    "A sharp lay where nobody expected it",
    "A tool slipped or broke",
    "A door or guard did not hold",
    "Water on the floor",
    "Something started by itself",
    "A step was left out",
)
SHOWS_NOBODY = "Somebody’s name stands in it: {}. Say it without names, such as “the assistant”."


def refuse_names(site: Site, text: str) -> str:
    """The text, if it names nobody of the organisation."""
    people = Person.objects.filter(organisation=site.organisation_id).values_list("given_name", "family_name")
    found = names_within(text, (name for pair in people for name in pair))
    if found:
        raise forms.ValidationError(SHOWS_NOBODY.format(", ".join(found)), code="names")
    return text.strip()


class NearMissForm(SubmissionForm):
    """Three taps: the button that leads here, the place, and what it was. Nobody's name is kept."""

    place = forms.ChoiceField(
        choices=[(place, place) for place in PLACES], widget=forms.RadioSelect,
        error_messages={"required": "Tap where it was.", "invalid_choice": "Tap one of the places."},
    )  # fmt: skip
    what = forms.CharField(max_length=120, required=False, widget=forms.HiddenInput)
    how = forms.CharField(
        label="In your words", max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, site: Site, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.site = site

    def clean_how(self) -> str:
        return refuse_names(self.site, self.cleaned_data["how"])

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        if not values.get("what") and not values.get("how") and "how" not in self.errors:
            self.add_error("how", "Tap what it was, or say it in your words.")
        return values

    @property
    def said(self) -> str:
        return ". ".join(filter(None, (self.cleaned_data["what"], self.cleaned_data["how"])))


class EventForm(SubmissionForm):
    """An injury or an event. The first two questions decide the path."""

    kind = forms.ChoiceField(
        label="What was it?", choices=[choice for choice in Incident.Kind.choices if choice[0] != Incident.Kind.NEAR_MISS], widget=forms.RadioSelect,
        error_messages={"required": "Choose what it was.", "invalid_choice": "Choose one of these."},
    )  # fmt: skip
    contaminated = forms.ChoiceField(
        label="Where a sharp was in it: had it touched blood, a mouth, or anything from one?", choices=Incident.Contaminated.choices, required=False,
        widget=forms.RadioSelect, help_text="Unsure is treated as yes.", error_messages={"invalid_choice": "Choose yes, no or unsure."},
    )  # fmt: skip
    item = forms.CharField(
        label="Kind and brand of the item",
        max_length=120,
        required=False,
        help_text="“None” or “unknown” where that is so.",
    )
    place = forms.CharField(label="Room or work area", max_length=120, error_messages={"required": "Say where it was."})
    how = forms.CharField(
        label="How it happened", max_length=4000, widget=forms.Textarea(attrs={"rows": 4}), help_text="No names, nothing medical.",
        error_messages={"required": "Say how it happened."},
    )  # fmt: skip
    equipment = forms.ModelChoiceField(
        Equipment.objects.none(),
        label="Unit",
        required=False,
        empty_label="No unit, or choose",
        error_messages={"invalid_choice": "Choose a unit of this site."},
    )
    procedure_code = forms.CharField(
        label="Procedure, by its code", max_length=10, required=False, help_text="Such as P03."
    )
    referred = forms.BooleanField(label="Sent to the named clinician or urgent care", required=False)
    day = DayField(label="Day")
    happened_at = forms.TimeField(
        label="At", required=False, input_formats=TIMES, help_text="Such as 14:30, by the clock here.", error_messages=NO_TIME,
        widget=forms.TextInput(attrs={"class": "is-short"}),
    )  # fmt: skip
    learned_day = DayField(label="The practice learned of it on", required=False, help_text="Where that was later.")
    learned_time = forms.TimeField(
        label="Learned of at", required=False, input_formats=TIMES, error_messages=NO_TIME,
        widget=forms.TextInput(attrs={"class": "is-short"}),
    )  # fmt: skip

    def __init__(self, site: Site, today: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.site, self.today = site, today
        self.fields["equipment"].queryset = Equipment.objects.filter(site=site)  # type: ignore[attr-defined]
        self.helper = with_button(self, "File it")

    def clean_how(self) -> str:
        return refuse_names(self.site, self.cleaned_data["how"])

    def clean_place(self) -> str:
        return refuse_names(self.site, self.cleaned_data["place"])

    def clean_item(self) -> str:
        return refuse_names(self.site, self.cleaned_data["item"])

    def clean_procedure_code(self) -> str:
        code = str(self.cleaned_data["procedure_code"]).strip().upper()
        if code and procedure_on(self.site.organisation, code, self.today, {}) is None:
            raise forms.ValidationError(
                f"No procedure in force is called {code}. Write a code such as P03, or nothing."
            )
        return code

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        if values.get("kind") == Incident.Kind.SHARPS:
            if not values.get("contaminated"):
                self.add_error("contaminated", "Choose yes, no or unsure: it decides what happens now.")
            if not values.get("item") and "item" not in self.errors:
                self.add_error("item", "Write kind and brand, or “none” or “unknown”.")
        self.judge_learned(values)
        return values

    def judge_learned(self, values: dict[str, Any]) -> None:
        """Both parts or neither, not before the event and not in the future."""
        day, at = values.pop("learned_day", None), values.pop("learned_time", None)
        values["learned_at"] = None
        if not day and not at:
            return
        if not day or not at:
            self.add_error("learned_time" if day else "learned_day", "Write the day and the time, or neither.")
            return
        zone = ZoneInfo(self.site.time_zone)
        learned = values["learned_at"] = datetime.combine(day, at, zone)
        happened = values.get("day") and datetime.combine(values["day"], values.get("happened_at") or time.min, zone)
        if happened and learned < happened:
            self.add_error("learned_day", "That is before it happened. Check both.")
        if learned > clock.now():
            self.add_error("learned_day", "That moment has not come. Check both.")


class ReviewForm(SubmissionForm):
    """What was looked at in the procedure and the place, and what was changed."""

    causes = forms.MultipleChoiceField(
        label="What it came from", choices=[(cause, cause) for cause in CAUSES], widget=forms.CheckboxSelectMultiple,
        help_text="The place, the tool, the procedure: never a person.",
        error_messages={"required": "Tick at least one, or “not found yet”.", "invalid_choice": "Tick those of the list."},
    )  # fmt: skip
    looked_at = forms.CharField(
        label="What was looked at in the procedure and the place",
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Say what was looked at."},
    )
    changed = forms.CharField(
        label="What was changed",
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Say what was changed, or “nothing”, and why."},
    )

    def __init__(self, site: Site, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.site = site
        self.helper = with_button(self, "Save the review")

    def clean_looked_at(self) -> str:
        return refuse_names(self.site, self.cleaned_data["looked_at"])

    def clean_changed(self) -> str:
        return refuse_names(self.site, self.cleaned_data["changed"])
