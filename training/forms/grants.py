"""Forms of authority, founding grants and carried-over records."""

from collections.abc import Sequence
from typing import Any

from django import forms

from clinic.forms.base import DayField, SubmissionForm, with_button
from clinic.forms.roster import PersonChoice, long_words, words
from clinic.models import Person, Site
from clinic.rules.words import short_day
from training.forms.signing import BeforeSigning, Proof
from training.models import FoundingGrant, Procedure
from training.rules.grants import last_carried_over_day


class CodesField(forms.MultipleChoiceField):
    """Procedures by code, several at once."""

    def __init__(self, label: str, required: str = "", **kwargs: Any) -> None:
        messages = {"required": required, "invalid_choice": "Choose from the list."}
        super().__init__(
            label=label, required=bool(required), widget=forms.CheckboxSelectMultiple, error_messages=messages, **kwargs
        )


def of_site(site: Site) -> Any:
    return Person.objects.ever_at_site(site).by_name()


class GrantAuthority(SubmissionForm):
    """To observe and sign, at this site."""

    person = PersonChoice()
    areas = CodesField("Whole areas", help_text="Every procedure of the area, those that come later too.")
    procedures = CodesField("Or single procedures")
    from_day = DayField(label="From the day")
    to_day = DayField(label="Through the day", required=False, help_text="Empty: until it is ended.")
    counts_because = forms.CharField(
        label="Why what they watch counts although they may not work alone in it",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Only for somebody who watches and does not do the work. Left empty, what they watch is evidence only "
        "while they may work alone in it.",
    )

    def __init__(self, site: Site, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["person"].queryset = of_site(site)  # type: ignore[attr-defined]
        rows = list(Procedure.objects.of(site.organisation))
        self.fields["areas"].choices = [(area, area) for area in sorted({row.area for row in rows})]  # type: ignore[attr-defined]
        self.fields["procedures"].choices = [(row.code, f"{row.code} {row.title}") for row in rows]  # type: ignore[attr-defined]
        self.helper = with_button(self, "Give authority")


class EndAuthority(SubmissionForm):
    to_day = DayField(label="The last good day")
    reason = long_words("Why it ends", "Say why it ends; a few words are enough.")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "End this authority")


class FoundingForm(Proof):
    """How the chain of signing starts: authority and standing at once, and who says so, proved again by password."""

    takes_pin = False
    person = PersonChoice()
    procedures = CodesField("Procedures", "Choose the procedures it covers.")
    rests_on = forms.ChoiceField(
        label="What it rests on", choices=FoundingGrant.RestsOn, widget=forms.RadioSelect,
        error_messages={"required": "Choose what it rests on.", "invalid_choice": "Choose one of these."},
    )  # fmt: skip
    detail = long_words(
        "In words",
        "Name the visit, the course or the declaration and its day.",
        "Which visit or course, by whom, on which day.",
    )
    from_day = DayField(label="From the day")
    to_day = DayField(
        label="Through the day",
        help_text="At most twelve months on; 90 days for two people’s first performances together.",
    )
    field_order = [
        "submission", "person", "procedures", "rests_on", "detail", "from_day", "to_day", "sign_in_name", "password",
    ]  # fmt: skip

    def __init__(self, site: Site, known: BeforeSigning, *args: Any, **kwargs: Any) -> None:
        super().__init__(known, *args, **kwargs)
        self.fields["person"].queryset = of_site(site)  # type: ignore[attr-defined]
        rows = Procedure.objects.of(site.organisation).filter(kind=Procedure.Kind.PRACTICE)
        self.fields["procedures"].choices = [(row.code, f"{row.code} {row.title}") for row in rows]  # type: ignore[attr-defined]
        self.helper = with_button(self, "Make the founding grant")


class CarryOver(SubmissionForm):
    """What somebody mastered before the register started, from paper."""

    person = PersonChoice()
    procedure = forms.ModelChoiceField(
        Procedure.objects.none(), label="Procedure", empty_label="Choose",
        error_messages={"required": "Choose the procedure.", "invalid_choice": "Choose one of the list."},
    )  # fmt: skip
    original_day = DayField(label="Day on the paper")
    by_whom = words("Who signed the paper", "Name who signed the paper, in words.", most=160)
    paper_place = words("Where the paper is kept", "Name the folder or drawer.")
    valid_until = DayField(label="Good through the day")
    seen = forms.BooleanField(label="Record what will be on hold at once too", required=False, widget=forms.HiddenInput)

    def __init__(self, site: Site, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["person"].queryset = of_site(site)  # type: ignore[attr-defined]
        self.fields["procedure"].queryset = Procedure.objects.of(site.organisation)  # type: ignore[attr-defined]
        self.fields["valid_until"].help_text = f"By {short_day(last_carried_over_day(site.register_start))} at most."
        self.helper = with_button(self, "Carry it over")

    def ask_about(self, held: Sequence[str]) -> None:
        """What will be on hold at once is said before it is recorded, until the box beside it is ticked."""
        self.fields["seen"].widget = forms.CheckboxInput()
        self.add_error("seen", f"Nothing is saved yet. {' '.join(held)} Tick this where it is right, and save again.")


class RegisterStart(forms.Form):
    """The day from which the register answers for the site."""

    register_start = DayField(label="The register starts on")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Set this day")
