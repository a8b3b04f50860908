"""Searching the people of a site, and choosing the day of a person’s page."""

from django import forms

from clinic.forms.base import DayField


class PeopleFilter(forms.Form):
    """Every field may stay empty. Job roles are those held at the site."""

    SHOW = [
        ("", "Everybody here now"),
        ("lapsing", "Something ends within 60 days"),
        ("gone", "Something does not hold"),
        ("learning", "Learning"),
        ("ready", "Ready to be signed"),
        ("left", "No longer here"),
    ]
    q = forms.CharField(label="Name or staff number", required=False, max_length=80)
    role = forms.ChoiceField(label="Job role", required=False)
    show = forms.ChoiceField(label="Show", required=False, choices=SHOW)

    def __init__(self, titles: list[str], *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.fields["role"].choices = [("", "Any"), *((title, title) for title in titles)]  # type: ignore[attr-defined]
        for field in self.fields.values():
            field.error_messages["invalid_choice"] = "Choose one of the list."


class PersonDay(forms.Form):
    """The day as of which a person is shown, by the end of which day it was known, which procedure, and through which day the
    list of what was recorded is read."""

    day = DayField(label="As of the day", required=False)
    known = DayField(label="As known by the end of", required=False)
    procedure = forms.CharField(required=False, max_length=10)
    facts = DayField(required=False)
