"""Forms of the bench: what is going to be watched, and what was seen."""

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.core import signing
from django.core.exceptions import ValidationError

from clinic import clock
from clinic.forms.base import FIRST_DAY, LAST_DAY, with_button
from clinic.models import Equipment, EquipmentKind, OutsideWitness, Person, Site
from clinic.rules.words import begun as large
from training.forms.signing import BeforeSigning, Proof
from training.models import Observation, Version
from training.reads import bench
from training.reads.bench import BenchProcedure
from training.rules.facts import Method
from training.rules.wording import METHODS

SALT = "observation setup"
MYSELF = "me"


@dataclass(frozen=True, slots=True)
class Setup:
    """What was chosen before the first mark. It travels signed in the address, so that nothing of it changes later."""

    performance: str
    site: int
    person: str
    versions: list[str]
    equipment: str
    purpose: str
    method: str
    observer: str  # who began it, and sends it
    witness: str
    started_at: str

    @property
    def token(self) -> str:
        return signing.dumps(asdict(self), salt=SALT, compress=True)

    @classmethod
    def of(cls, token: str) -> "Setup | None":
        """None for anything that this register did not sign."""
        try:
            return cls(**signing.loads(token, salt=SALT))
        except (signing.BadSignature, TypeError):
            return None


class VersionBoxes(forms.ModelMultipleChoiceField):
    def label_from_instance(self, version: Version) -> str:  # type: ignore[override]
        return str(version.procedure)


class Units(forms.ModelChoiceField):
    def label_from_instance(self, unit: Equipment) -> str:  # type: ignore[override]
        return f"{unit.label} ({unit.get_kind_display().lower()})"


class StartObservationForm(forms.Form):
    """Person, procedures, unit, who watches, practice or assessment, and how it is done."""

    person = forms.ModelChoiceField(
        Person.objects.none(), label="Who is watched", empty_label="Choose a person",
        error_messages={"required": "Choose who is watched.", "invalid_choice": "Choose somebody who works here today, and not yourself."},
    )  # fmt: skip
    procedures = VersionBoxes(
        Version.objects.none(), widget=forms.CheckboxSelectMultiple,
        help_text="One performance may be marked against several, one after the other.",
        error_messages={"required": "Choose at least one procedure.", "invalid_choice": "Your authority does not cover this procedure here. Ask the owner for it."},
    )  # fmt: skip
    equipment = Units(
        Equipment.objects.none(), required=False, label="Unit", empty_label="Choose, where the work is on a unit",
        error_messages={"invalid_choice": "Choose a unit in service at this site."},
    )  # fmt: skip
    watched_by = forms.ChoiceField(
        label="Who watches",
        help_text="An outside witness is somebody without an account here. You record what they saw, and answer for it.",
        error_messages={
            "required": "Choose who watches.",
            "invalid_choice": "Choose yourself, or a witness from the list.",
        },
    )
    purpose = forms.ChoiceField(
        label="What it is for",
        widget=forms.RadioSelect,
        choices=[
            ("practice", "Practice: teaching. Nothing follows from it, except from “stop: unsafe”."),
            ("assessment", "Assessment: evidence. A critical step prompted, helped or wrong makes it not met."),
        ],
        help_text="Chosen before the first mark. It stays so.",
        error_messages={
            "required": "Choose practice or assessment.",
            "invalid_choice": "Choose practice or assessment.",
        },
    )
    method = forms.ChoiceField(
        label="How it is done",
        widget=forms.RadioSelect,
        choices=[(method.value, large(METHODS[method])) for method in Method],
        error_messages={"required": "Choose how it is done.", "invalid_choice": "Choose one of the ways shown."},
    )

    def __init__(self, observer: Person, site: Site, today: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.observer, self.site, self.today = observer, site, today
        self.fields["person"].queryset = bench.learners(observer, site, today)  # type: ignore[attr-defined]
        self.fields["procedures"].queryset = bench.observable(observer, site, today)  # type: ignore[attr-defined]
        self.fields["equipment"].queryset = bench.units(site, today)  # type: ignore[attr-defined]
        outside = [(str(row.pk), str(row)) for row in bench.witnesses(site)]
        self.fields["watched_by"].choices = [(MYSELF, f"{observer.printed_name} (you)"), *outside]  # type: ignore[attr-defined]
        self.helper = with_button(self, "Begin")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("procedures"):
            self.check_unit(cleaned)
            self.check_method(cleaned)
        return cleaned

    def check_unit(self, cleaned: dict[str, Any]) -> None:
        unit, kinds = cleaned.get("equipment"), {row.procedure.equipment_kind for row in cleaned["procedures"]}
        about = kinds - {EquipmentKind.SITE}  # what concerns a whole site has no unit to choose
        wanted = ", ".join(sorted(about))
        if unit and unit.kind not in kinds:
            remedy = f"are about: {wanted}. Choose such a unit." if about else "concern the whole site. Choose no unit."
            self.add_error("equipment", f"These procedures {remedy}")
        elif (
            not unit
            and "equipment" not in self.errors
            and bench.units(self.site, self.today).filter(kind__in=about).exists()
        ):
            self.add_error("equipment", f"Choose the unit: {wanted}.")

    def check_method(self, cleaned: dict[str, Any]) -> None:
        if cleaned.get("purpose") != Observation.Purpose.ASSESSMENT or not cleaned.get("method"):
            return
        method = Method(cleaned["method"])  # the first fault takes it away
        for version in cleaned["procedures"]:
            if says := bench.does_not_count(version, method):
                self.add_error("method", ValidationError(f"For an assessment: {says} Choose another way, or practice."))

    def setup(self) -> Setup:
        chosen, outside = self.cleaned_data, self.cleaned_data["watched_by"]
        return Setup(
            performance=str(uuid4()),
            site=self.site.pk,
            person=str(chosen["person"].pk),
            versions=[str(row.pk) for row in chosen["procedures"]],
            equipment=str(chosen["equipment"].pk) if chosen["equipment"] else "",
            purpose=chosen["purpose"],
            method=chosen["method"],
            observer=str(self.observer.pk),
            witness="" if outside == MYSELF else outside,
            started_at=clock.now().isoformat(),
        )


@dataclass(frozen=True, slots=True)
class Begun:
    """The rows that a setup names."""

    setup: Setup
    site: Site
    person: Person
    observer: Person
    witness: OutsideWitness | None
    equipment: Equipment | None
    procedures: list[BenchProcedure]

    @property
    def started_at(self) -> datetime:
        return datetime.fromisoformat(self.setup.started_at)

    @property
    def is_assessment(self) -> bool:
        return self.setup.purpose == Observation.Purpose.ASSESSMENT

    @property
    def method_words(self) -> str:
        return METHODS[Method(self.setup.method)]

    @property
    def all_marks(self) -> list[tuple[str, str]]:
        return [(mark.value, bench.HINTS[mark]) for mark in bench.WITH_A_WHEN]

    @property
    def own_words(self) -> list[tuple[str, str]]:
        return [*Observation.OwnWord.choices, ("", "Not said")]


def begun(setup: Setup, site: Site) -> Begun | None:
    """None where the setup belongs to another site."""
    if setup.site != site.pk:
        return None
    rows = Version.objects.filter(pk__in=setup.versions).select_related("procedure").order_by("procedure__code")
    unit = Equipment.objects.filter(pk=setup.equipment).first() if setup.equipment else None
    return Begun(
        setup=setup,
        site=site,
        person=Person.objects.get(pk=setup.person),
        observer=Person.objects.get(pk=setup.observer),
        witness=OutsideWitness.objects.filter(pk=setup.witness).first() if setup.witness else None,
        equipment=unit,
        procedures=bench.bench_procedures(list(rows), site, unit),
    )


class StepMarks(forms.Form):
    """One field for each step of each procedure, all of them optional: what is not marked is the action's to refuse."""

    def __init__(self, procedures: Iterable[BenchProcedure], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.procedures = list(procedures)
        for step in (step for procedure in self.procedures for step in procedure.steps):
            self.fields[step.name] = forms.ChoiceField(
                required=False,
                label=f"Step {step.number}",
                choices=[(mark.value, mark.value) for mark in step.marks],
                widget=forms.RadioSelect,
                error_messages={"invalid_choice": "Choose one of the marks shown for this step."},
            )

    def marks(self) -> dict[Version, dict[str, str]]:
        return {
            each.version: {
                step.key: self.cleaned_data[step.name] for step in each.steps if self.cleaned_data.get(step.name)
            }
            for each in self.procedures
        }

    def rows(self) -> list[tuple[BenchProcedure, list[tuple[Any, Any]]]]:
        """For the plain page: each procedure with its steps and their fields."""
        return [(each, [(step, self[step.name]) for step in each.steps]) for each in self.procedures]


class MarksForm(StepMarks):
    """What was seen: a mark for each step, and how it ended. The script at the bench and the plain page send the same."""

    stopped = forms.BooleanField(required=False, label="Stop: unsafe")
    stop_reason = forms.CharField(
        required=False, max_length=2000, label="What was unsafe", widget=forms.Textarea(attrs={"rows": 3})
    )
    own_word = forms.ChoiceField(
        required=False,
        label="Their own word",
        widget=forms.RadioSelect,
        choices=[*Observation.OwnWord.choices, ("", "Not said")],
    )
    own_words = forms.CharField(
        required=False, max_length=2000, label="In their words", widget=forms.Textarea(attrs={"rows": 2})
    )
    notes = forms.CharField(
        required=False, max_length=4000, label="Your notes", widget=forms.Textarea(attrs={"rows": 3})
    )
    pauses = forms.CharField(required=False, widget=forms.HiddenInput)
    finished_at = forms.CharField(required=False, widget=forms.HiddenInput)

    def clean_pauses(self) -> list[dict[str, str]]:
        """A list of {from, to, why}, the first two instants; anything else is dropped as never said."""
        try:
            rows = json.loads(self.cleaned_data["pauses"] or "[]")
            return [pause_in(row) for row in rows]
        except (ValueError, TypeError, KeyError, RecursionError) as problem:
            raise ValidationError(
                "The pauses could not be read. Open the observation again on this tablet."
            ) from problem

    def clean_finished_at(self) -> datetime | None:
        """When it ended by the tablet, in UTC; None where the page was sent without a script."""
        words = self.cleaned_data["finished_at"]
        try:
            return instant_in(words) if words else None
        except ValueError as problem:
            raise ValidationError("The time of the end could not be read. Check the clock of the tablet.") from problem

    def ending(self) -> list[Any]:
        """The fields that are no marks."""
        return [self[name] for name in self.base_fields]


def instant_in(words: str) -> datetime:
    """The instant that a tablet says, UTC where it names no zone. ValueError for none, and for one of no day of a form."""
    found = datetime.fromisoformat(words)
    if not FIRST_DAY.year <= found.year <= LAST_DAY.year:
        raise ValueError(f"The year {found.year} is not one of this register.")
    return found if found.tzinfo else found.replace(tzinfo=UTC)


def pause_in(row: Any) -> dict[str, str]:
    """ValueError, TypeError or KeyError for what is no pause, and for words that no database can keep."""
    said = {name: str(row[name])[:200] for name in ("from", "to", "why")}
    instant_in(said["from"]), instant_in(said["to"])
    if "\0" in said["why"].encode().decode():  # half a letter (a lone surrogate) cannot be encoded
        raise ValueError("A letter that cannot be kept.")
    return said


class CorrectionForm(MarksForm, Proof):
    """The marks of a recorded observation again, filled in as they were, with the reason for changing them, and who does."""

    reason = forms.CharField(
        label="What was wrong",
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Say in a few words what was wrong."},
    )

    def __init__(
        self, seen: Observation, procedures: Iterable[BenchProcedure], known: BeforeSigning, *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(procedures, known, *args, **kwargs)
        names = ("stopped", "stop_reason", "own_word", "own_words", "notes")
        self.initial.update({name: getattr(seen, name) for name in names})
        self.initial.update({f"{seen.version.procedure.code}-{row['step']}": row["mark"] for row in seen.marks})

    def ending(self) -> list[Any]:
        """Who signs stands last, after the reason."""
        last = ["reason", "sign_in_name", "password"]
        return [self[name] for name in [*(name for name in self.base_fields if name not in last), *last]]


def performance_id(setup: Setup) -> UUID:
    return UUID(setup.performance)
