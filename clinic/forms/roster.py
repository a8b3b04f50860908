"""Forms of the roster: people, job roles, leaving, accounts, posts, outside witnesses."""

from datetime import date
from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from clinic.forms.base import DayField, SubmissionForm, with_button
from clinic.models import JobRole, Person, Post, Site
from clinic.namesakes import NAMED, against_name
from clinic.rules.letters import SUPPLY, lacks, not_printed
from clinic.rules.titles import unknown_role
from clinic.rules.words import short_day


def words(label: str, required: str = "", help: str = "", most: int = 200, **more: Any) -> forms.CharField:
    """A line of text. `required` is what is said when it is left empty; without it the field is optional."""
    messages = {"required": required, "max_length": f"Shorten it to {most} letters."}
    return forms.CharField(
        label=label, required=bool(required), help_text=help, max_length=most, error_messages=messages, **more
    )


def can_be_printed(value: str) -> None:
    if missing := not_printed(value):
        raise ValidationError(f"{lacks(missing)} {SUPPLY}")


def name(label: str, required: str = "", help: str = "", **more: Any) -> forms.CharField:
    """A line that papers print as somebody's name."""
    return words(label, required, help, validators=[can_be_printed], **more)


def long_words(label: str, required: str = "", help: str = "", most: int = 2000) -> forms.CharField:
    return words(label, required, help, most, widget=forms.Textarea(attrs={"rows": 3}))


class TitleInput(forms.TextInput):
    """A text field that proposes the job titles that the practice has."""

    titles: list[str] = []

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> SafeString:
        attrs = {"list": f"{name}_titles", "autocomplete": "off", **(attrs or {})}
        options = format_html_join("", '<option value="{}"></option>', ((title,) for title in self.titles))
        field = super().render(name, value, attrs, renderer)
        return format_html('{}<datalist id="{}_titles">{}</datalist>', field, name, options)


class PersonFields(SubmissionForm):
    """What is known of a person. A staff number tells people of one name apart."""

    given_name = name("Given name", "Write the given name.", most=80)
    family_name = name("Family name", "Write the family name.", most=80)
    staff_number = name("Staff number", help="Tells people of one name apart, and names them in files.", most=30)
    email = forms.EmailField(
        label="E-mail",
        required=False,
        error_messages={"invalid": "Write an address such as ines@example.org, or leave it empty."},
    )
    language = words("Language they learn in", help="Where it is not the site’s.", most=20)

    def __init__(self, site: Site, *args: Any, person: Person | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.site, self.person = site, person
        self.helper = with_button(self, "Save the change")

    def clean_staff_number(self) -> str:
        number: str = self.cleaned_data["staff_number"]
        others = Person.objects.filter(organisation=self.site.organisation_id, staff_number=number) if number else None
        other = others.exclude(pk=self.own_key).first() if others is not None else None
        if other:
            raise ValidationError(f"This is the number of {other}. Give each person a number of their own.")
        return number

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if {*NAMED} <= data.keys() and {*NAMED} & {*self.changed_data}:
            named = Person(pk=self.own_key, organisation=self.site.organisation, **{name: data[name] for name in NAMED})
            if refusal := against_name(named):
                self.add_error(refusal.field, f"{refusal.says} {refusal.supply}")
        return data

    @property
    def own_key(self) -> UUID:
        """The person's: one who is here, or the one whom this form enters."""
        return self.person.pk if self.person else self.cleaned_data.get("submission") or uuid4()

    @property
    def columns(self) -> dict[str, str]:
        return {
            name: self.cleaned_data[name] for name in ("given_name", "family_name", "staff_number", "email", "language")
        }


class ChosenRole(forms.Form):
    """A job role of the practice. A new one is made on purpose only: a slip of the keys would make a role that needs nothing."""

    job_role = name("Job role", "Write the job title, such as Dental assistant.", most=80, widget=TitleInput())
    new_role = forms.BooleanField(
        label="This is a new job role of the practice",
        required=False,
        help_text="Only for a title that is not there yet.",
    )

    def propose(self, site: Site) -> None:
        rows = JobRole.objects.filter(organisation=site.organisation_id)
        self.titles = list(rows.values_list("title", flat=True))
        self.fields["job_role"].widget.titles = self.titles  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        title = data.get("job_role", "")
        if title and not data.get("new_role") and title.lower() not in {each.lower() for each in self.titles}:
            supply = "Choose it, or tick that this is a new one." if self.titles else "Tick that this is a new one."
            self.add_error("job_role", f"{unknown_role(title, self.titles)} {supply}")
        return data


class RoleFields(ChosenRole):
    """A job role from a day."""

    from_day = DayField(label="From the day")


class NewPerson(PersonFields, RoleFields):
    """A new person and the first job role, in one form."""

    field_order = [
        "submission",
        "given_name",
        "family_name",
        "job_role",
        "new_role",
        "from_day",
        "staff_number",
        "email",
        "language",
    ]

    def __init__(self, site: Site, *args: Any, **kwargs: Any) -> None:
        super().__init__(site, *args, **kwargs)
        self.propose(site)
        self.helper = with_button(self, "Enter this person")


class ChangePerson(PersonFields):
    pass


class GiveRole(RoleFields):
    to_day = DayField(label="Through the day", required=False, help_text="The last good day, where it is known.")

    def __init__(self, site: Site, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.propose(site)
        self.helper = with_button(self, "Give this job role")


class LastDay(forms.Form):
    """The last good day of something that ends."""

    to_day = DayField(label="The last good day")

    def __init__(self, *args: Any, button: str, first: date | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.first = first
        self.helper = with_button(self, button)

    def clean_to_day(self) -> date:
        day: date = self.cleaned_data["to_day"]
        if self.first and day < self.first:
            raise ValidationError(f"That is before it began. Choose {short_day(self.first)} or later.")
        return day


class IdentityCheck(forms.Form):
    """How it was checked who they are (row E-17)."""

    identity_checked = words(
        "How it was checked who they are",
        "Say by whom, where and how it was checked.",
        "By whom, where and how: “passport shown to Bram Okafor at Millbrook Lane, 3 Mar 2025”.",
    )

    def __init__(self, *args: Any, known: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if known:
            del self.fields["identity_checked"]
        self.helper = with_button(self, "Make a new invitation" if known else "Open the account and invite")


class PersonChoice(forms.ModelChoiceField):
    """A person of the site, by name."""

    def __init__(self, label: str = "Who", **kwargs: Any) -> None:
        messages = {"required": "Choose somebody.", "invalid_choice": "Choose somebody of this site."}
        super().__init__(Person.objects.none(), label=label, empty_label="Choose", error_messages=messages, **kwargs)

    def label_from_instance(self, obj: Any) -> str:
        return f"{obj.whole_name} ({obj.staff_number})" if obj.staff_number else obj.printed_name


class GivePost(forms.Form):
    """What the practice appoints somebody to."""

    person = PersonChoice()
    post = forms.ChoiceField(
        label="Post",
        choices=Post,
        error_messages={"required": "Choose the post.", "invalid_choice": "Choose one of the posts."},
    )
    everywhere = forms.BooleanField(label="At every site of the organisation", required=False)
    from_day = DayField(label="From the day")

    def __init__(self, site: Site, *args: Any, by: Person, group: bool, **kwargs: Any) -> None:
        """`group`: whether `by` owns every site, and so appoints everywhere and anybody."""
        super().__init__(*args, **kwargs)
        people = (
            Person.objects.filter(organisation=site.organisation_id) if group else Person.objects.ever_at_site(site)
        )
        self.fields["person"].queryset = people.exclude(pk=by.pk).by_name()  # type: ignore[attr-defined]
        if not group:
            del self.fields["everywhere"]
        self.helper = with_button(self, "Appoint")


class NewWitness(SubmissionForm):
    """Somebody without an account who watched."""

    printed_name = name("Name as printed", "Write the name.", most=120)
    qualification = words("Qualification", "Say what qualifies them.", "What makes them fit to judge the work.")
    comes_from = name(
        "Where they come from", "Say where they come from.", "Another practice, a maker’s training team …", most=120
    )
    identified_how = words("How it was checked who they are", "Say how it was checked who they are.")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Enter this witness")
