"""Printing numbered sheets, and entering what was written on one."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms

from clinic.forms.base import DayField, SubmissionForm, with_button
from clinic.forms.upkeep import PhotoField
from clinic.models import Equipment, OutsideWitness, Person
from clinic.photos import LIMITS
from clinic.rules.words import begun
from training.actions.sheets import MOST_SHEETS, OnSheet
from training.forms.observe import StepMarks, Units
from training.models import Observation, SheetsPrinted
from training.reads.bench import BenchProcedure, learners, witnesses
from training.reads.sheets import may_have_watched, units_for
from training.rules.facts import Method
from training.rules.sheets import number_of
from training.rules.wording import METHODS


class PrintForm(SubmissionForm):
    """How many blank checklists, each with a number of its own."""

    count = forms.IntegerField(
        label="How many sheets", min_value=1, max_value=MOST_SHEETS, initial=5,
        help_text="Each has a number of its own, by which it is entered later.",
        error_messages=dict.fromkeys(("required", "invalid", "min_value", "max_value"), f"Print 1 to {MOST_SHEETS} sheets."),
    )  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Print them")


class NumberForm(forms.Form):
    """Which sheet is entered."""

    number = forms.CharField(
        label="Number of the sheet", max_length=20, help_text="It stands at the top, such as 0123.",
        error_messages={"required": "Type the number that stands at the top of the sheet."},
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "class": "is-short"}),
    )  # fmt: skip

    def clean_number(self) -> int:
        found = number_of(self.cleaned_data["number"])
        if found is None:
            raise forms.ValidationError("Type the number as it stands at the top of the sheet, such as 0123.")
        return found


def clock_time(label: str) -> forms.TimeField:
    return forms.TimeField(
        label=label, input_formats=["%H:%M", "%H.%M"],
        widget=forms.TimeInput(format="%H:%M", attrs={"class": "is-short", "autocomplete": "off"}),
        error_messages={
            "invalid": "Write the time as 14:30.",
            "required": "Write the time as it stands on the sheet, such as 14:30. Where it is missing, ask whoever watched.",
        },
    )  # fmt: skip


def picked(label: str, asks: str, **more: Any) -> forms.ModelChoiceField:
    return forms.ModelChoiceField(
        Person.objects.none(), label=label, empty_label="Choose a person",
        error_messages={"required": asks, "invalid_choice": asks}, **more,
    )  # fmt: skip


class SheetForm(StepMarks, SubmissionForm):
    """What stands on the sheet, in its order. The marks are fields of their own, one a step."""

    person = picked("Who", "Choose who did the work, as the sheet says.")
    observer = forms.ChoiceField(
        label="Watched by",
        help_text=(
            "It counts once they confirm it with a proof of their own. For an outside witness, who signed on paper, somebody "
            "else with authority compares it with the photo. You are named as who entered it."
        ),
        error_messages=dict.fromkeys(("required", "invalid_choice"), "Choose who watched, as the sheet says."),
    )  # fmt: skip
    day = DayField(label="Day")
    began = clock_time("From")
    ended = clock_time("To")
    equipment = Units(
        Equipment.objects.none(), required=False, label="Unit", empty_label="Choose the unit",
        error_messages={"invalid_choice": "Choose a unit in service at this site.", "required": "Choose the unit, as the sheet says."},
    )  # fmt: skip
    purpose = forms.ChoiceField(
        label="For", widget=forms.RadioSelect, choices=Observation.Purpose.choices,
        error_messages={"required": "Choose practice or assessment, as the sheet says."},
    )  # fmt: skip
    method = forms.ChoiceField(
        label="How", widget=forms.RadioSelect, choices=[(each.value, begun(METHODS[each])) for each in Method],
        error_messages={"required": "Choose how it was done, as the sheet says."},
    )  # fmt: skip
    identity_checked = forms.CharField(
        required=False,
        max_length=200,
        label="Checked who it is, how",
        help_text="Such as: known to me; badge with photo.",
    )
    language = forms.CharField(required=False, max_length=20, label="Language used")
    own_word = forms.ChoiceField(
        required=False, label="The trainee says", widget=forms.RadioSelect,
        choices=[*Observation.OwnWord.choices, ("", "Not said")],
    )  # fmt: skip
    own_words = forms.CharField(
        required=False, max_length=2000, label="In their words", widget=forms.Textarea(attrs={"rows": 2})
    )
    stopped = forms.BooleanField(required=False, label="Stopped as unsafe")
    stop_reason = forms.CharField(
        required=False, max_length=2000, label="What was unsafe", widget=forms.Textarea(attrs={"rows": 2})
    )
    notes = forms.CharField(required=False, max_length=4000, label="Notes", widget=forms.Textarea(attrs={"rows": 3}))
    photo = PhotoField(
        label="Photo of the sheet", required=False,
        help_text=f"Needed where an outside witness signed it. JPEG, PNG or WebP. Only what is seen is kept. {LIMITS}",
    )  # fmt: skip

    FIRST = (
        "person",
        "observer",
        "day",
        "began",
        "ended",
        "equipment",
        "identity_checked",
        "language",
        "purpose",
        "method",
    )
    LAST = ("own_word", "own_words", "stopped", "stop_reason", "notes", "photo")

    def __init__(
        self, printed: SheetsPrinted, me: Person, today: date, procedures: Iterable[BenchProcedure], *args: Any, **kwargs: Any
    ) -> None:  # fmt: skip
        super().__init__(procedures, *args, **kwargs)
        self.printed, fields = printed, self.fields
        self.watchers = {str(each.pk): each for each in may_have_watched(printed, today)}
        self.witnesses = {str(each.pk): each for each in witnesses(printed.site)}
        fields["person"].queryset = learners(me, printed.site, today)  # type: ignore[attr-defined]
        fields["observer"].choices = watcher_choices(self.watchers, self.witnesses)  # type: ignore[attr-defined]
        units = units_for(printed, today)
        if printed.equipment or not units.exists():
            del fields["equipment"]
        else:
            fields["equipment"].queryset, fields["equipment"].required = units, True  # type: ignore[attr-defined]

    def first(self) -> list[Any]:
        return [self[name] for name in self.FIRST if name in self.fields]

    def last(self) -> list[Any]:
        return [self[name] for name in self.LAST]

    def on_sheet(self, number: int) -> OnSheet:
        said, zone = self.cleaned_data, ZoneInfo(self.printed.site.time_zone)
        began, ended = (datetime.combine(said["day"], said[name], tzinfo=zone) for name in ("began", "ended"))
        same = (
            "person",
            "identity_checked",
            "language",
            "purpose",
            "method",
            "stopped",
            "stop_reason",
            "notes",
            "own_word",
            "own_words",
            "photo",
        )
        return OnSheet(
            id=self.fact_id, number=number, started_at=began, finished_at=ended, marks=next(iter(self.marks().values())),
            observer=self.watchers.get(said["observer"]), witness=self.witnesses.get(said["observer"]),
            equipment=self.printed.equipment or said.get("equipment"), **{name: said[name] for name in same},
        )  # fmt: skip


def watcher_choices(watchers: dict[str, Person], outside: dict[str, OutsideWitness]) -> list[Any]:
    """Nobody yet; whoever has authority; and by themselves whoever came from outside."""
    found: list[Any] = [("", "Choose a person"), *((key, str(each)) for key, each in watchers.items())]
    return [*found, ("Outside witnesses", [(key, str(each)) for key, each in outside.items()])] if outside else found
