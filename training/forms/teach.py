"""Forms of teaching: the questions of a check, and what a taught session was."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from clinic.forms.base import DayField, SubmissionForm, with_button
from clinic.models import Person, Site
from training.forms.lenient import WantedChoice, WantedText
from training.forms.signing import BeforeSigning, Proof
from training.models import TaughtSession, Version
from training.reads.languages import language_words

Asked = dict[str, Any]  # key, ask, options in the order shown, weight


class CheckForm(forms.Form):
    """One question each, its options in the order of this try. `submission` is the try's own id."""

    submission = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, asked: Iterable[Asked], words: str, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.keys = []
        for each in asked:
            self.keys.append(each["key"])
            self.fields[each["key"]] = forms.ChoiceField(
                label=each["ask"],
                choices=[(option, option) for option in each["options"]],
                widget=forms.RadioSelect,
                help_text=each["help"],
                error_messages={"required": "Choose one of the four.", "invalid_choice": "Choose one of the four."},
            )
        self.helper = with_button(self, words)

    @property
    def answers(self) -> dict[str, str]:
        return {key: self.cleaned_data[key] for key in self.keys}


class DaysField(forms.CharField):
    """One day or several, with commas between them, such as 24 Nov 2026, 25 Nov 2026. Gives them in order, each once."""

    def clean(self, value: Any) -> list[date]:
        one = DayField()
        try:
            days = [one.clean(piece) for piece in super().clean(value).split(",") if piece.strip()]
        except ValidationError as error:
            raise ValidationError(
                "Write each day with the month’s name and a comma between days, such as 24 Nov 2026, 25 Nov 2026."
            ) from error
        return sorted(set(days))


def yes_or_no(label: str, **more: Any) -> WantedChoice:
    return WantedChoice(
        label=label, choices=[("yes", "Yes"), ("no", "No")], coerce=lambda word: word == "yes", widget=forms.RadioSelect,
        empty_value=None, **more,
    )  # fmt: skip


def topic_words(version: Version) -> str:
    return str(version.procedure)


def person_words(person: Person) -> str:
    return person.printed_name


class SessionForm(SubmissionForm):
    """A session as it was. What is left out keeps it from counting, never from being recorded: only what was taught,
    when, and who was there must be said."""

    topics = forms.ModelMultipleChoiceField(
        Version.objects.none(), label="What was taught", widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one topic.", "invalid_choice": "Choose topics that are in force here."},
    )  # fmt: skip
    days = DaysField(
        label="Day or days", help_text="Such as 25 Nov 2026. Several days: a comma between them.",
        error_messages={"required": "Write the day, such as 25 Nov 2026."},
    )  # fmt: skip
    attendees = forms.ModelMultipleChoiceField(
        Person.objects.none(), label="Everyone who attended", widget=forms.CheckboxSelectMultiple,
        help_text="The job title that each had on the last day is kept with the session.",
        error_messages={"required": "Choose everyone who was there.", "invalid_choice": "Choose people of this site."},
    )  # fmt: skip
    summary = WantedText(label="Contents or summary", widget=forms.Textarea(attrs={"rows": 4}))
    trainer = forms.ModelChoiceField(
        Person.objects.none(), label="Trainer, if one of the staff", required=False, empty_label="Somebody from outside",
    )  # fmt: skip
    trainer_name = forms.CharField(label="Trainer’s name, if from outside", required=False, max_length=120)
    trainer_qualification = WantedText(
        label="Trainer’s qualification", max_length=200,
        help_text="What makes them able to teach it: a course, a licence, years of the work.",
    )  # fmt: skip
    live_questions = yes_or_no(
        "Could questions be asked live, and were they answered?",
        help_text="A film or a quiz alone is no: the session is kept, and does not count.",
    )
    demonstrated = yes_or_no(
        "Protective equipment: did everyone show that they understand and can use it?",
        help_text="Asked of a session on protective equipment only.",
    )
    language = WantedText(label="Language used", max_length=20)
    handed_out = WantedText(
        label="What was handed out",
        help_text="“Nothing” is an answer.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    demonstration = forms.CharField(
        label="What was demonstrated", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Such as putting on and taking off gloves. It may be left empty.",
    )  # fmt: skip
    extra = forms.BooleanField(
        label="Extra session: it covers only what is new", required=False,
        help_text="When tasks or procedures changed the exposure. It does not move the yearly day.",
    )  # fmt: skip

    def __init__(self, site: Site, topics: Sequence[Version], people: Any, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.site = site
        choices: dict[str, Any] = self.fields
        chosen = Version.objects.filter(pk__in=[row.pk for row in topics]).select_related("procedure")
        choices["topics"].queryset = chosen.order_by("procedure__code")
        choices["topics"].label_from_instance = topic_words
        for name in ("attendees", "trainer"):
            choices[name].queryset = people
            choices[name].label_from_instance = person_words
        if "language" not in self.initial:
            self.initial["language"] = language_words(site.language)
        self.helper = with_button(self, "Record the session", in_columns=True)

    def session(self) -> TaughtSession:
        """What was said, as a fact that is not recorded yet."""
        said = self.cleaned_data
        own, trainer = (
            (
                "summary",
                "trainer_qualification",
                "live_questions",
                "demonstrated",
                "language",
                "handed_out",
                "demonstration",
                "extra",
            ),
            said["trainer"],
        )
        return TaughtSession(
            id=self.fact_id, site=self.site, happened_on=said["days"][-1], days=[day.isoformat() for day in said["days"]],
            trainer=trainer, trainer_name=trainer.printed_name if trainer else said["trainer_name"], **{name: said[name] for name in own},
        )  # fmt: skip


class CorrectSessionForm(SessionForm, Proof):
    """The session as it really was, why the first record was wrong, and who says so."""

    reason = forms.CharField(
        label="What was wrong with the record", error_messages={"required": "Say in a few words what was wrong."}
    )

    def __init__(
        self, site: Site, topics: Sequence[Version], people: Any, known: BeforeSigning, *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(site, topics, people, known, *args, **kwargs)
        self.order_fields([*SessionForm.base_fields, "reason", "sign_in_name", "password"])

    def session(self) -> TaughtSession:
        session = super().session()
        session.reason = self.cleaned_data["reason"]
        return session
