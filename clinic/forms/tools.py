"""Milling tools, the makers' table, and the swap in its safe order."""

from typing import Any

from django import forms

from clinic.forms.base import DayField, SubmissionForm, with_button
from clinic.forms.upkeep import NOBODY
from clinic.models import Equipment, MillingTool, Person, Site, ToolRemoved
from clinic.models.tools import choices
from clinic.rules.tools import Material, Tool, Way

COUNT = {
    "required": "Count them.",
    "invalid": "Write a whole number, such as 6.",
    "min_value": "It cannot be below 0.",
    "max_value": "No unit holds that many.",
}


class ToolForm(forms.Form):
    code = forms.CharField(
        max_length=40,
        help_text="As printed on the tool, with a number of your own where there are several.",
        error_messages={"required": "Write the code on the tool."},
    )
    kind = forms.ChoiceField(
        choices=[("", "Choose"), *choices(Tool)],
        help_text="By its code; looks only confirm.",
        error_messages={"required": "Choose the kind."},
    )
    size = forms.CharField(max_length=40, required=False)
    seat = forms.CharField(
        label="The driver that fits",
        max_length=40,
        help_text="Such as “hex 1.3”.",
        error_messages={"required": "Write what fits it."},
    )
    positions = forms.CharField(
        label="Positions it may sit in",
        max_length=40,
        required=False,
        help_text="With commas, such as 1, 2. Empty: any.",
    )
    life_unit = forms.ChoiceField(label="Its life is counted in", choices=MillingTool.Life.choices)
    life = forms.IntegerField(label="A full life", min_value=1, max_value=100_000, required=False, error_messages=COUNT)

    def __init__(self, site: Site, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.site = site
        self.helper = with_button(self, "Enter the tool")

    def clean_code(self) -> str:
        code = str(self.cleaned_data["code"]).strip()
        if MillingTool.objects.filter(site=self.site, code=code).exists():
            raise forms.ValidationError("A tool with this code is entered. Add a number of your own.")
        return code


class PairForm(SubmissionForm):
    """A line of the unit maker's table."""

    tool = forms.ChoiceField(choices=choices(Tool))
    material = forms.ChoiceField(choices=choices(Material))
    way = forms.ChoiceField(choices=choices(Way))
    allowed = forms.ChoiceField(label="The table says", choices=[("yes", "allowed"), ("no", "forbidden")])
    source = forms.CharField(
        max_length=200, error_messages={"required": "Say where it stands, or that it is the site’s own rule."}
    )
    day = DayField(label="From")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Save the line")


class SwapForm(SubmissionForm):
    """In the order of the work. Everything that stands in the way is named at once."""

    still = forms.BooleanField(label="Every spindle stands still, and the unit is in its park position", required=False)
    nobody_can_start = forms.BooleanField(label="Nobody can start a job from elsewhere", required=False)
    protected = forms.BooleanField(label="Cut-resistant gloves and eyewear are on", required=False)
    counted_out = forms.IntegerField(
        label="Tools counted before",
        min_value=0,
        max_value=200,
        error_messages=COUNT,
        widget=forms.NumberInput(attrs={"class": "is-short"}),
    )
    position = forms.CharField(
        label="Position",
        max_length=20,
        error_messages={"required": "Write which position."},
        widget=forms.TextInput(attrs={"class": "is-short"}),
    )
    why = forms.ChoiceField(
        label="Why the old tool comes out",
        required=False,
        choices=[("", "No tool sits there"), *ToolRemoved.Why.choices],
    )
    life_used = forms.IntegerField(
        label="Its life counter at removal",
        required=False,
        min_value=0,
        max_value=100_000,
        error_messages=COUNT,
        widget=forms.NumberInput(attrs={"class": "is-short"}),
    )
    tool = forms.ModelChoiceField(
        MillingTool.objects.none(),
        label="New tool, by its code",
        error_messages={"required": "Choose the new tool.", "invalid_choice": "Choose a tool of this site."},
    )
    material = forms.ChoiceField(label="For", choices=choices(Material))
    way = forms.ChoiceField(label="Wet or dry", choices=choices(Way))
    driver = forms.ModelChoiceField(
        Equipment.objects.none(), label="Torque driver", required=False, empty_label="Not tightened with a torque driver",
        error_messages={"invalid_choice": "Choose a driver of this site."},
    )  # fmt: skip
    clicked = forms.BooleanField(label="It clicked, once, at the first smooth turn", required=False)
    counted_in = forms.IntegerField(
        label="Tools counted after, the tub included",
        min_value=0,
        max_value=200,
        error_messages=COUNT,
        widget=forms.NumberInput(attrs={"class": "is-short"}),
    )
    stood_by = forms.ChoiceField(
        label="Who stood by",
        required=False,
        error_messages={"invalid_choice": "Choose somebody of this site, or nobody."},
    )

    def __init__(self, site: Site, usable: set[Any], me: Person, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.usable, self.me = usable, me
        self.people = {str(person.pk): person for person in Person.objects.ever_at_site(site).by_name()}
        self.fields["tool"].queryset = MillingTool.objects.filter(site=site)  # type: ignore[attr-defined]
        self.fields["driver"].queryset = Equipment.objects.filter(site=site, kind="torque driver")  # type: ignore[attr-defined]
        named = [
            (key, f"{person}, may do it alone" if person.pk in usable else str(person))
            for key, person in self.people.items()
        ]
        self.fields["stood_by"].choices = [("", "Not needed, or choose"), (NOBODY, "Nobody stood by"), *named]  # type: ignore[attr-defined]
        self.helper = with_button(self, "Save the swap")

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        if self.me.pk not in self.usable and not values.get("stood_by"):
            able = [str(person) for person in self.people.values() if person.pk in self.usable]
            self.add_error(
                "stood_by",
                f"You may not swap tools alone today. Say who stood by: {', '.join(able) or 'nobody here'} could.",
            )
        return values

    @property
    def stood_by_person(self) -> Person | None:
        return self.people.get(self.cleaned_data.get("stood_by", ""))
