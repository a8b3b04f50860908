"""Forms of the audit pages: a binder, an inspector's pass, what was done about a finding, what is kept elsewhere."""

from datetime import date
from typing import Any

from django import forms
from django.db.models import QuerySet

from clinic.forms.base import DayField, SubmissionForm, with_button
from clinic.models import KeptElsewhere, PaperSize, Person, RoleHeld, Site

FORMS = [("full", "In full"), ("short", "Short, at most twelve pages")]


class BinderForm(SubmissionForm):
    """For which days, and in which form."""

    first = DayField(label="From")
    last = DayField(label="To")
    as_of = DayField(label="Who may do what on", required=False, help_text="Leave empty for the last day.")
    form = forms.ChoiceField(label="Form", choices=FORMS)
    paper = forms.ChoiceField(label="Paper", choices=PaperSize.choices)

    def __init__(self, site: Site, today: date, *args: Any, **kwargs: Any) -> None:
        begin = max(site.register_start, today.replace(month=1, day=1))
        kwargs["initial"] = {"first": begin, "last": today, "form": "full", "paper": site.paper} | kwargs.get(
            "initial", {}
        )
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Make the binder")

    @property
    def wanted(self) -> dict[str, Any]:
        """What the action takes beside site and person."""
        data = self.cleaned_data
        return {
            "first": data["first"],
            "last": data["last"],
            "as_of": data["as_of"] or data["last"],
            "in_full": data["form"] == "full",
            "paper": data["paper"],
        }


def outsiders(site: Site, today: date) -> "QuerySet[Person]":
    """People with a name in the register and no job role today: who comes from outside."""
    at_work = RoleHeld.objects.held_on(today).values("person")
    return Person.objects.filter(organisation=site.organisation).exclude(pk__in=at_work).by_name()


class PassForm(forms.Form):
    """Who may read this binder, until when."""

    person = forms.ModelChoiceField(
        Person.objects.none(),
        label="Inspector",
        empty_label="Choose",
        help_text="Somebody with an account and no job role here. Enter a new one under People first.",
        error_messages={"required": "Choose who may read it.", "invalid_choice": "Choose one of the list."},
    )
    until = DayField(label="Through the day")

    def __init__(self, site: Site, today: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["person"].queryset = outsiders(site, today)  # type: ignore[attr-defined]
        self.helper = with_button(self, "Give the pass")


class ChosenFindings(forms.MultipleChoiceField):
    """Whether each still stands is the action's question: it knows of those that the first sending of this form closed."""

    def valid_value(self, value: str) -> bool:
        return True


class ActionForm(SubmissionForm):
    """What was done about one finding, or about several notes."""

    findings = ChosenFindings(
        label="Findings",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one finding."},
    )
    done = forms.CharField(
        label="What was done, or why it happened",
        widget=forms.Textarea(attrs={"rows": 3}),
        max_length=2000,
        error_messages={"required": "Say in a sentence what was done."},
    )
    done_by = forms.ModelChoiceField(
        Person.objects.none(),
        label="Done by",
        empty_label="Choose",
        error_messages={"required": "Choose who did it.", "invalid_choice": "Choose one of the list."},
    )

    def __init__(self, site: Site, today: date, choices: list[tuple[str, str]], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["findings"].choices = choices  # type: ignore[attr-defined]
        self.fields["done_by"].queryset = Person.objects.at_site(site, today).by_name()  # type: ignore[attr-defined]
        self.helper = with_button(self, "Record what was done")


class ElsewhereForm(SubmissionForm):
    """A paper that is kept somewhere else."""

    what = forms.CharField(label="What", max_length=120, error_messages={"required": "Name the paper."})
    place = forms.CharField(label="Place", max_length=200, error_messages={"required": "Say where it is."})
    keeper = forms.CharField(label="Keeper", max_length=120, error_messages={"required": "Say who keeps it."})
    last_review = DayField(label="Last review", required=False, help_text="Leave empty if it is not reviewed.")

    def __init__(self, row: KeptElsewhere | None, *args: Any, **kwargs: Any) -> None:
        names = ("what", "place", "keeper", "last_review")
        kwargs["initial"] = {name: getattr(row, name) for name in names} if row else {}
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Save the place" if row else "Add it to the list")
