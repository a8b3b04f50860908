"""Logging upkeep and use. Every reading of the task is a field of its own; what was done is never refused for who did it."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django import forms

from clinic import clock
from clinic.forms.base import DayField, SubmissionForm, with_button
from clinic.forms.pins import PinField
from clinic.models import Equipment, Person, Seal, Site, UpkeepEntry, UpkeepTask
from clinic.photos import LIMITS, NotAPhoto, as_jpeg
from clinic.port import Work, usable_people, usable_then
from clinic.reads.readings import ReadingsAsked
from clinic.rules.readings import Judged, ReadingKind, ReadingSpec, as_number, readings_verdict, upper_limit
from clinic.rules.words import listed

NOBODY = "nobody"
MOST = 1_000_000_000  # more than any instrument of a practice shows


class PhotoField(forms.FileField):
    """Cleans to the JPEG that is kept, empty where no photo was taken."""

    widget = forms.FileInput(attrs={"accept": "image/*"})
    default_error_messages = {
        "empty": "The photo is empty. Take it again.",
        "invalid": "The photo did not arrive. Take it again.",
    }

    def clean(self, data: Any, initial: Any = None) -> Any:
        file = super().clean(data, initial)
        try:
            return as_jpeg(file, file.size) if file else b""
        except NotAPhoto as fault:
            raise forms.ValidationError(str(fault)) from fault


class LogEntry(SubmissionForm):
    """`asked`: the readings of the task at the unit. `me`: who is signed in, and the default for who did it."""

    done_by = forms.ModelChoiceField(
        Person.objects.none(), label="Done by", empty_label="Choose who did it",
        error_messages={"required": "Choose who did it.", "invalid_choice": "Choose somebody of this site."},
    )  # fmt: skip
    stood_by = forms.ChoiceField(
        label="Who stood by",
        required=False,
        error_messages={"invalid_choice": "Choose somebody of this site, or nobody."},
    )
    day = DayField(label="Day", help_text="A late entry is better than none.")
    at = forms.TimeField(
        label="At", required=False, input_formats=["%H:%M", "%H.%M"], help_text="When it was done, such as 14:30.",
        widget=forms.TimeInput(format="%H:%M", attrs={"class": "is-short", "autocomplete": "off"}),
        error_messages={"invalid": "Write the time as 14:30."},
    )  # fmt: skip
    drawn_at = forms.TimeField(required=False, input_formats=["%H:%M"], widget=forms.HiddenInput)
    read_later = forms.BooleanField(label="Put in; it is read later", required=False)
    read_on = DayField(
        label="Read on", required=False, help_text="Where it was read on a later day than it was put in."
    )
    note = forms.CharField(
        label="Note", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Also why a reading is missing.",
    )  # fmt: skip
    photo = PhotoField(
        label="Photo", required=False, help_text=f"Of the reading or the part, no patient and no name on it. {LIMITS}"
    )
    from_observation = forms.UUIDField(required=False, widget=forms.HiddenInput)
    pin = PinField(label="PIN of whoever did it", required=False)

    def __init__(
        self,
        site: Site,
        unit: Equipment,
        task: UpkeepTask,
        asked: ReadingsAsked,
        me: Person,
        today: date,
        data: Any = None,
        files: Any = None,
        known: Any = None,
        by_pin: Sequence[Person] = (),
    ) -> None:
        """`known`: what an address already says (?done_by=, ?stood_by=, ?from_observation=). `by_pin`: the others whose PIN
        counts on this tablet now; with it they record their work themselves, whoever is signed in."""
        now = f"{clock.time_of_day(site.time_zone):%H:%M}"
        super().__init__(
            data, files, initial={"done_by": me.pk, "day": today, "at": now, "drawn_at": now} | dict(known or {})
        )
        self.site, self.unit, self.task, self.asked, self.today = site, unit, task, asked, today
        people = Person.objects.ever_at_site(site).by_name()
        self.people = {str(person.pk): person for person in people}
        self.fields["done_by"].queryset = people  # type: ignore[attr-defined]
        self.fields["stood_by"].choices = self.helpers(usable_people(site.organisation, task.covered_by, today))  # type: ignore[attr-defined]
        readings = {f"reading_{spec.key}": field_of(spec, asked) for spec in asked.specs}
        self.later = {spec.key for spec in asked.specs if spec.later}
        self.by_pin = [person for person in by_pin if str(person.pk) in self.people and person != me]
        if self.by_pin:
            names = listed([str(person) for person in self.by_pin], "or")
            self.fields["pin"].help_text = f"With it {names} records it, and not {me}."
        else:
            del self.fields["pin"]
        self.order = ["read_later", *readings, "done_by", "pin", "stood_by", "day", "at", "read_on", "note", "photo"]
        self.fields |= readings
        if not task.covered_by:
            del self.fields["stood_by"]
        if not self.later:
            del self.fields["read_later"], self.fields["read_on"]
        self.order_fields(self.order)
        self.helper = with_button(self, "Save the entry")

    def helpers(self, usable: set[Any]) -> list[Any]:
        able = [(key, str(person)) for key, person in self.people.items() if person.pk in usable]
        others = [(key, str(person)) for key, person in self.people.items() if person.pk not in usable]
        first = [("", "Not needed, or choose"), (NOBODY, "Nobody stood by")]
        return [*first, ("May do it alone today", able), ("Everybody else", others)]

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        if values.get("day"):
            self.judge(values)
            self.judge_days(values)
            self.ask_who_stood_by(values)
        return values

    def clean_from_observation(self) -> Any:
        """Only a watched performance of this site; anything else is dropped as never said."""
        found = Seal.objects.filter(
            site=self.site, fact=self.cleaned_data["from_observation"], kind="training.observation"
        )
        return found.values_list("fact", flat=True).first()

    def judge_days(self, values: dict[str, Any]) -> None:
        """A time that nobody typed is the time the page was drawn: it says nothing of another day."""
        if values["day"] != self.today and values.get("at") == values.get("drawn_at"):
            values["at"] = None
        read_on = values.get("read_on")
        if read_on and read_on < values["day"]:
            self.add_error("read_on", "It was read before it was put in. Check both days.")
        if read_on and read_on > self.today:
            self.add_error(
                "read_on", "That day has not come. Tick “read later”, and record the result when it is read."
            )
        early = [key for key in self.later if values.get(f"reading_{key}")] if values.get("read_later") else []
        for key in early:
            self.add_error(f"reading_{key}", "Leave it empty where it is read later, or take the tick away.")

    def judge(self, values: dict[str, Any]) -> None:
        """A reading that cannot be read is refused; a missing one only where the note is silent."""
        specs = [spec for spec in self.asked.specs if not (values.get("read_later") and spec.key in self.later)]
        for verdict in readings_verdict(specs, self.readings(values), self.asked.numbers, values["day"]):
            silent = verdict.judged is Judged.MISSING and not values.get("note", "").strip()
            if silent or verdict.judged is Judged.UNREADABLE:
                self.add_error(f"reading_{verdict.key}", verdict.sentence)
        for spec in self.asked.specs:
            for fault in number_faults(spec, values.get(f"reading_{spec.key}")):
                self.add_error(f"reading_{spec.key}", fault)

    def readings(self, values: dict[str, Any]) -> dict[str, str]:
        """As typed, by key; numbers stay text, so that no float is ever sealed."""
        typed = {spec.key: values.get(f"reading_{spec.key}") for spec in self.asked.specs}
        return {key: value for key, value in typed.items() if value}

    def ask_who_stood_by(self, values: dict[str, Any]) -> None:
        doer, stood = values.get("done_by"), values.get("stood_by")
        if doer is None or "stood_by" not in self.fields:
            return
        usable = usable_people(self.site.organisation, self.task.covered_by, values["day"])
        work = Work(self.task.covered_by, doer.pk, values["day"], values.get("at"), clock.now())
        alone = not self.task.covered_by or usable_then(self.site.organisation, [work])[work].usable
        if not alone and not stood:
            self.fields["stood_by"].choices = self.helpers(usable)  # type: ignore[attr-defined]
            able = [str(person) for person in self.people.values() if person.pk in usable]
            self.add_error("stood_by", standing_by_words(str(doer), able))

    @property
    def stood_by_person(self) -> Person | None:
        return self.people.get(self.cleaned_data.get("stood_by", ""))


class ResultForm(SubmissionForm):
    """What is read of an earlier sample, by the limits of the sample's day."""

    done_by = forms.ModelChoiceField(
        Person.objects.none(), label="Read by", empty_label="Choose who read it",
        error_messages={"required": "Choose who read it.", "invalid_choice": "Choose somebody of this site."},
    )  # fmt: skip
    day = DayField(label="Read on")
    note = forms.CharField(label="Note", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(self, entry: UpkeepEntry, asked: ReadingsAsked, me: Person, today: date, data: Any = None) -> None:
        super().__init__(data, initial={"done_by": me.pk, "day": today})
        self.asked = asked
        self.specs = tuple(spec for spec in asked.specs if spec.later)
        self.fields["done_by"].queryset = Person.objects.ever_at_site(entry.site).by_name()  # type: ignore[attr-defined]
        self.fields |= {f"reading_{spec.key}": field_of(spec, asked) for spec in self.specs}
        self.order_fields([f"reading_{spec.key}" for spec in self.specs])
        self.helper = with_button(self, "Save the result")

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        if values.get("day"):
            for verdict in readings_verdict(self.specs, self.readings(values), self.asked.numbers, values["day"]):
                if verdict.judged in (Judged.MISSING, Judged.UNREADABLE):
                    self.add_error(
                        f"reading_{verdict.key}", verdict.sentence.replace(", or say in the note why not", "")
                    )
            for spec in self.specs:
                for fault in number_faults(spec, values.get(f"reading_{spec.key}")):
                    self.add_error(f"reading_{spec.key}", fault)
        return values

    def readings(self, values: dict[str, Any]) -> dict[str, str]:
        typed = {spec.key: values.get(f"reading_{spec.key}") for spec in self.specs}
        return {key: value for key, value in typed.items() if value}


class ReadingText(forms.CharField):
    """Asked of everybody; empty is judged with the note by the form, not by the field."""

    def validate(self, value: Any) -> None:
        return None


class ReadingChoice(forms.ChoiceField):
    def validate(self, value: Any) -> None:
        if value:
            super().validate(value)


def standing_by_words(doer: str, able: list[str]) -> str:
    names = f"{listed(able, 'or')} could." if able else "nobody here could."
    return f"{doer} did not hold the procedure that day. Say who stood by: {names} If nobody did, choose that: it is recorded."


def number_faults(spec: ReadingSpec, typed: Any) -> list[str]:
    """What no instrument can show: below zero where the reading counts something, or more than a thousand million."""
    number = as_number(typed) if spec.kind in (ReadingKind.NUMBER, ReadingKind.N_OF_N) else None
    if number is None:
        return []
    counts = spec.low == 0 or spec.unit == "CFU/mL"
    below = [f"{spec.label} cannot be below 0. Enter what was read."] if counts and number < 0 else []
    return below + ([f"{typed} cannot be right. Enter at most {MOST:,}."] if abs(number) > MOST else [])


def field_of(spec: ReadingSpec, asked: ReadingsAsked) -> forms.Field:
    """A field with the limits beside it, so that a script can say at once what the server will say."""
    label = f"{spec.label}{f', {spec.unit}' if spec.unit else ''}"
    if spec.kind in (ReadingKind.YES_NO, ReadingKind.CHOICE):
        options = spec.choices or ("yes", "no")
        hints = {"data-good": "|".join(spec.good or ("yes",)), "data-what": spec.what_to_do}
        return ReadingChoice(
            label=label, required=False, choices=[(word, word) for word in options], widget=forms.RadioSelect(attrs=hints),
            help_text=may_be_left_out(spec),
            error_messages={"invalid_choice": f"Choose one of {', '.join(options)}."},
        )  # fmt: skip
    return ReadingText(
        label=label,
        max_length=200,
        help_text=" ".join(filter(None, (limits_words(spec, asked), may_be_left_out(spec)))),
        widget=forms.TextInput(attrs=hints_of(spec, asked)),
    )


def may_be_left_out(spec: ReadingSpec) -> str:
    return "May be left empty." if spec.optional else ""


def hints_of(spec: ReadingSpec, asked: ReadingsAsked) -> dict[str, Any]:
    if spec.kind is ReadingKind.TEXT:
        return {"autocomplete": "off"}
    limits = {
        "data-low": spec.low,
        "data-high": upper_limit(spec, asked.numbers),
        "data-below": spec.below,
        "data-total": total_of(spec, asked),
        "data-worse": spec.worse_from,
    }
    mode = "decimal" if spec.kind is ReadingKind.NUMBER else "numeric"
    shown = {name: f"{value:g}" for name, value in limits.items() if value is not None}
    return {
        "class": "is-short",
        "autocomplete": "off",
        "inputmode": mode,
        "data-what": spec.what_to_do,
        "data-then": spec.do_when_worse,
    } | shown


def total_of(spec: ReadingSpec, asked: ReadingsAsked) -> float | None:
    if spec.kind is not ReadingKind.N_OF_N:
        return None
    return as_number(asked.numbers.get(spec.site_total)) if spec.site_total else spec.total


def limits_words(spec: ReadingSpec, asked: ReadingsAsked) -> str:
    high, total = upper_limit(spec, asked.numbers), total_of(spec, asked)
    said = [
        f"{spec.low:,g} or more" if spec.low else "",
        f"at most {high:,g}" if high is not None else "",
        f"below {spec.below:,g}" if spec.below is not None else "",
        f"all {total:g}" if total is not None else "",
    ]
    found = ", ".join(filter(None, said))
    return f"Good: {found}." if found else ""
