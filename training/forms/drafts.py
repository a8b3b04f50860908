"""Forms of a draft. Words are kept as they are typed, complete or not: what stands in the way of approving is said on the
draft's page. Only a number that is no number is refused, with everything typed still there."""

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

from django import forms

from clinic.forms.base import DayField, with_button
from clinic.rules.words import begun
from training.forms.lenient import WantedText
from training.forms.signing import BeforeSigning, Proof
from training.models import Draft, Procedure
from training.rules.facts import FromPaper, Method, MethodQuota, Policy
from training.rules.policy_wording import PAPER_COUNTS
from training.rules.texts import policy_from_json, policy_to_json
from training.rules.wording import METHODS

SEEN = "The draft was changed by somebody else since you opened it. Yours is below: look at theirs on the draft’s page, then save again."
NUMBER = {
    "invalid": "Write a whole number.",
    "min_value": "Write %(limit_value)s or more.",
    "required": "Write a whole number.",
}


class DraftForm(forms.Form):
    """Carries when the draft was last saved, so that nobody's work is written over unseen."""

    seen = forms.CharField(widget=forms.HiddenInput, required=False)


class WordsForm(DraftForm):
    """The words around the steps. A list has one thing a line."""

    purpose = WantedText(label="Purpose", widget=forms.Textarea(attrs={"rows": 2}))
    hazards = forms.CharField(
        required=False, label="What can hurt, one a line", widget=forms.Textarea(attrs={"rows": 5})
    )
    protective_equipment = forms.CharField(
        required=False, label="What is put on, one a line", widget=forms.Textarea(attrs={"rows": 3})
    )
    note = forms.CharField(required=False, label="Note", widget=forms.Textarea(attrs={"rows": 3}))
    evidence = forms.CharField(required=False, label="What is written down", widget=forms.Textarea(attrs={"rows": 3}))
    contents = forms.CharField(
        required=False, label="What is taught, one a line", widget=forms.Textarea(attrs={"rows": 8})
    )
    records = forms.CharField(
        required=False, label="What the record holds besides, one a line", widget=forms.Textarea(attrs={"rows": 3})
    )
    who = forms.CharField(required=False, label="Who it is for")
    again = forms.CharField(required=False, label="When it is repeated", widget=forms.Textarea(attrs={"rows": 2}))
    change_note = forms.CharField(
        required=False,
        label="What changed, in a sentence",
        help_text="Everyone who holds it reads this.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    LISTS = ("hazards", "protective_equipment", "contents", "records")
    TOPIC = ("contents", "records", "who", "again")

    def __init__(self, procedure: Procedure, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("evidence", "hazards", "protective_equipment") if procedure.is_topic else self.TOPIC:
            del self.fields[name]
        self.helper = with_button(self, "Save the words")

    @classmethod
    def initial_of(cls, content: dict[str, Any], note: str) -> dict[str, Any]:
        return {name: "\n".join(value) if name in cls.LISTS else value for name, value in content.items()} | {
            "change_note": note
        }

    def words(self) -> dict[str, Any]:
        """The parts of the content that this form holds."""
        said = {name: value for name, value in self.cleaned_data.items() if name not in ("seen", "change_note")}
        return {name: lines(value) if name in self.LISTS else value.strip() for name, value in said.items()}


def lines(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip()]


class StepForm(forms.Form):
    """One step. Its key is its identity across versions, and is never typed."""

    key = forms.RegexField(r"^[\w-]{1,20}$", widget=forms.HiddenInput)
    do = WantedText(label="What is done", widget=forms.Textarea(attrs={"rows": 2}))
    critical = forms.BooleanField(required=False, label="Critical")
    when = forms.CharField(
        required=False, label="Only when", help_text="The case that it is for, without the word “when”."
    )
    caution = forms.CharField(required=False, label="Caution", widget=forms.Textarea(attrs={"rows": 2}))


class QuestionForm(forms.Form):
    """One question with four options; the right one is named by its place."""

    key = forms.RegexField(r"^[\w-]{1,20}$", widget=forms.HiddenInput)
    ask = WantedText(label="Question", widget=forms.Textarea(attrs={"rows": 2}))
    weight = forms.ChoiceField(
        label="Weight", choices=[("safety", "Safety: must be right"), ("knowledge", "Knowledge: one may be wrong")],
        error_messages={"required": "Choose safety or knowledge."},
    )  # fmt: skip
    options = WantedText(
        label="Options, one a line",
        help_text="Four of them; they are shuffled each time.",
        widget=forms.Textarea(attrs={"rows": 4}),
    )
    right = forms.ChoiceField(
        label="The right one",
        choices=[(str(i), f"Option {i + 1}") for i in range(4)],
        error_messages={"required": "Choose the right option."},
    )
    why = WantedText(
        label="Why",
        help_text="Shown to whoever answers otherwise.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )


StepFormSet = forms.formset_factory(StepForm, extra=0, max_num=200)
QuestionFormSet = forms.formset_factory(QuestionForm, extra=0, max_num=60)


def steps_of(formset: Any, before: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The steps as typed, in their order. Sources and acts stay with the key they belong to."""
    kept = {step["key"]: {"sources": step["sources"], "acts": step.get("acts", [])} for step in before}
    new: dict[str, Any] = {"sources": [], "acts": []}
    return [{**form.cleaned_data, **kept.get(form.cleaned_data["key"], new)} for form in formset]


def questions_of(formset: Any, before: list[dict[str, Any]]) -> list[dict[str, Any]]:
    sources = {question["key"]: question["sources"] for question in before}
    return [question_of(form.cleaned_data, sources) for form in formset]


def question_of(said: dict[str, Any], sources: dict[str, Any]) -> dict[str, Any]:
    return {
        "key": said["key"], "weight": said["weight"], "ask": said["ask"], "options": lines(said["options"]),
        "right_index": int(said["right"]), "why": said["why"], "sources": sources.get(said["key"], []),
    }  # fmt: skip


def question_initial(question: dict[str, Any]) -> dict[str, Any]:
    return question | {"options": "\n".join(question["options"]), "right": str(question["right_index"])}


def number(label: str, least: int, *, required: bool = True, help_text: str = "") -> forms.IntegerField:
    return forms.IntegerField(
        label=label, min_value=least, max_value=5000, required=required, help_text=help_text, error_messages=NUMBER
    )


def ways(label: str) -> forms.MultipleChoiceField:
    return forms.MultipleChoiceField(
        label=label,
        required=False,
        choices=[(m.value, begun(METHODS[m])) for m in Method],
        widget=forms.CheckboxSelectMultiple,
    )


NEVER = "Empty: never."


class PolicyForm(DraftForm):
    """What a sign-off needs, and how long it lives. Fields that are empty ask nothing."""

    needed = number("Assessments for a first sign-off", 0)
    methods = ways("Ways that count for a first sign-off")
    quota_1_count = number("At least so many of them …", 1, required=False)
    quota_1_methods = ways("… by these ways")
    quota_2_count = number("And at least so many …", 1, required=False)
    quota_2_methods = ways("… by these ways")
    distinct_days = number("On so many different days", 1)
    distinct_supervisors = number("By so many different people", 1)
    check_asked = forms.BooleanField(required=False, label="The knowledge check must be passed")
    from_paper = forms.ChoiceField(
        label="What was written on a paper sheet and entered later",
        choices=[(each.value, begun(PAPER_COUNTS[each])) for each in FromPaper],
        initial=FromPaper.BOTH.value,
        widget=forms.RadioSelect,
    )
    window_days = number("Evidence counts for so many days", 1)
    renewal_needed = number("Assessments for a renewal", 0)
    renewal_methods = ways("Ways that count for a renewal")
    renewal_months = number(
        "Good for so many months",
        1,
        required=False,
        help_text=NEVER.replace("never", "it never lapses by the calendar"),
    )
    first_year_months = number("In the first year, for so many months", 1, required=False, help_text="Empty: as later.")
    notice_days = number("Due so many days before", 0)
    idle_days = number("Lapses after so many days without doing it", 1, required=False, help_text=NEVER)
    reobserve_days = number(
        "Holders of an earlier version are watched again within so many days",
        1,
        required=False,
        help_text="Empty: they go on as they are.",
    )
    prerequisites = forms.MultipleChoiceField(label="Rests on", required=False, widget=forms.CheckboxSelectMultiple)
    grace_days = number("On hold after so many days without one of these", 0)
    upkeep_covered = forms.MultipleChoiceField(
        label="Upkeep that counts as doing it", required=False, widget=forms.CheckboxSelectMultiple
    )

    QUOTAS = (1, 2)

    def __init__(self, codes: list[tuple[str, str]], tasks: list[tuple[str, str]], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: dict[str, Any] = self.fields
        fields["prerequisites"].choices, fields["upkeep_covered"].choices = codes, tasks
        self.helper = with_button(self, "Save the policy", in_columns=True)

    @classmethod
    def initial_of(cls, policy: dict[str, Any]) -> dict[str, Any]:
        quotas = {
            f"quota_{i}_{name}": q[name] for i, q in enumerate(policy["by_method"], 1) for name in ("count", "methods")
        }
        return policy | quotas

    def policy(self) -> dict[str, Any]:
        """In the form that a version stores."""
        said = self.cleaned_data
        plain = {name: said[name] for name in Policy.__dataclass_fields__ if name in said}
        return policy_to_json(policy_from_json({**plain, "by_method": []})) | {"by_method": list(self.quotas())}

    def quotas(self) -> Iterator[dict[str, Any]]:
        for i in self.QUOTAS:
            count, words = self.cleaned_data[f"quota_{i}_count"], self.cleaned_data[f"quota_{i}_methods"]
            if count or words:
                yield policy_to_json(Policy(by_method=(MethodQuota(frozenset(map(Method, words)), count or 0),)))[
                    "by_method"
                ][0]


class ApproveForm(Proof):
    """From which day the version is in force, and who approves it, proved again by password: it holds for everybody."""

    takes_pin = False
    from_day = DayField(label="In force from")
    field_order = ["submission", "from_day", "sign_in_name", "password"]

    def __init__(self, today: date, known: BeforeSigning, *args: Any, **kwargs: Any) -> None:
        super().__init__(known, *args, **kwargs)
        self.fields["from_day"].initial = today
        self.helper = with_button(self, "Approve and put in force")


class ApproveSetForm(ApproveForm):
    """Which of the submitted drafts; all of them unless some are left out."""

    procedures = forms.MultipleChoiceField(
        label="Drafts that I have read",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one draft.", "invalid_choice": "Choose from the list."},
    )
    field_order = ["submission", "procedures", "from_day", "sign_in_name", "password"]

    def __init__(
        self,
        waiting: Iterable[Draft],
        every: Iterable[Procedure],
        today: date,
        known: BeforeSigning,
        *args: Any,
        **kwargs: Any,
    ) -> None:
        """`every`: all procedures, as a form that is sent twice names drafts that are approved by now."""
        super().__init__(today, known, *args, **kwargs)
        field: Any = self.fields["procedures"]
        field.choices = [(row.code, str(row)) for row in every]
        field.widget.choices = [(row.procedure.code, str(row.procedure)) for row in waiting]
        field.initial = [code for code, _ in field.widget.choices]
