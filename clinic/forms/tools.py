"""Milling tools, the makers' table, and the swap in its safe order."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from crispy_forms.bootstrap import FormActions
from crispy_forms.layout import Fieldset, Layout
from django import forms

from clinic.forms.base import DayField, SecondButton, SubmissionForm, with_button
from clinic.forms.standing_by import AsksWhoStoodBy
from clinic.forms.upkeep import NOBODY
from clinic.models import Equipment, MillingTool, Person, Site, ToolRemoved
from clinic.models.tools import choices
from clinic.port import code_of, usable_people
from clinic.rules.ids import as_id
from clinic.rules.roles import ProcedureRole
from clinic.rules.tools import Material, MillingWay, Tool

COUNT = {
    "required": "Count them.",
    "invalid": "Write a whole number, such as 6.",
    "min_value": "Write %(limit_value)s or more.",
    "max_value": "Write at most %(limit_value)s.",
}


PARTS = (
    Fieldset(
        "1. Choose, with the door shut", "position", "tool", "material", "way", "driver",
        FormActions(SecondButton("check", "Check the choice", data_plain="")),
    ),
    Fieldset("2. Make it safe, then open", "still", "nobody_can_start", "protected", "counted_out"),
    Fieldset("3. Take the old tool out", "why", "life_used"),
    Fieldset("4. Set the new one in", "clicked"),
    Fieldset("5. Before the door closes", "counted_in", "stood_by", "day"),
)  # fmt: skip


class CountField(forms.IntegerField):
    """A number of tools."""

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.NumberInput(attrs={"class": "is-short"})
        super().__init__(min_value=0, max_value=200, error_messages=COUNT, widget=widget, **kwargs)


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

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Enter the tool")


class PairForm(SubmissionForm):
    """A line of the unit maker’s table."""

    tool = forms.ChoiceField(choices=choices(Tool))
    material = forms.ChoiceField(choices=choices(Material))
    way = forms.ChoiceField(choices=choices(MillingWay))
    allowed = forms.ChoiceField(label="The table says", choices=[("yes", "allowed"), ("no", "forbidden")])
    source = forms.CharField(
        max_length=200, error_messages={"required": "Say where it stands, or that it is the site’s own rule."}
    )
    day = DayField(label="From")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Save the line")


class Tools(forms.ModelChoiceField):
    def label_from_instance(self, tool: MillingTool) -> str:  # type: ignore[override]
        return f"{tool.code}: {tool.kind}{f', {tool.size}' if tool.size else ''}, needs {tool.seat}"


class SwapForm(AsksWhoStoodBy, SubmissionForm):
    """In the order of the work. Everything that stands in the way is named at once.

    Pressed “Check the choice”, only what is chosen before the door opens is asked for.
    """

    position = forms.CharField(
        max_length=20,
        error_messages={"required": "Write which position."},
        widget=forms.TextInput(attrs={"class": "is-short", "autocomplete": "off"}),
    )
    tool = Tools(
        MillingTool.objects.none(), label="New tool, by its code", required=False, empty_label="None: the old one only comes out",
        error_messages={"invalid_choice": "Choose a tool of this site."},
    )  # fmt: skip
    material = forms.ChoiceField(label="For", required=False, choices=[("", "Choose"), *choices(Material)])
    way = forms.ChoiceField(label="Wet or dry", required=False, choices=[("", "Choose"), *choices(MillingWay)])
    driver = forms.ModelChoiceField(
        Equipment.objects.none(), label="Torque driver", required=False, empty_label="Not tightened with a torque driver",
        error_messages={"invalid_choice": "Choose a driver of this site."},
    )  # fmt: skip
    still = forms.BooleanField(label="Every spindle stands still, and the unit is in its park position", required=False)
    nobody_can_start = forms.BooleanField(label="Nobody can start a job from elsewhere", required=False)
    protected = forms.BooleanField(label="Cut-resistant gloves and eyewear are on", required=False)
    counted_out = CountField(label="Tools counted before")
    why = forms.ChoiceField(
        label="Why the old tool comes out",
        required=False,
        choices=[("", "No tool sits there"), *ToolRemoved.Why.choices],
    )
    life_used = forms.IntegerField(
        label="What its counter says is used",
        required=False,
        min_value=0,
        max_value=100_000,
        help_text="Minutes or percent, where the unit counts them.",
        error_messages=COUNT | {"max_value": "No tool lives that long. Read it again."},
        widget=forms.NumberInput(attrs={"class": "is-short"}),
    )
    clicked = forms.BooleanField(label="It clicked, once, at the first smooth turn", required=False)
    counted_in = CountField(label="Tools counted after, the tub included")
    stood_by = forms.ChoiceField(
        required=False,
        error_messages={"invalid_choice": "Choose somebody of this site, or nobody."},
    )

    day = DayField(label="Done on", required=False, help_text="Empty: today.")

    def __init__(self, site: Site, today: date, me: Person, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.site, self.today, self.me = site, today, me
        self.code = code_of(site.organisation, ProcedureRole.TOOL_SWAP)
        usable = usable_people(site.organisation, self.code, today)
        self.only_checks = "check" in self.data
        self.people = {str(person.pk): person for person in Person.objects.ever_at_site(site).by_name()}
        self.fields["tool"].queryset = MillingTool.objects.filter(site=site)  # type: ignore[attr-defined]
        self.fields["driver"].queryset = Equipment.objects.filter(site=site, kind="torque driver")  # type: ignore[attr-defined]
        named = [
            (key, f"{person}, may do it alone" if person.pk in usable else str(person))
            for key, person in self.people.items()
        ]
        self.fields["stood_by"].choices = [("", "Not needed, or choose"), (NOBODY, "Nobody stood by"), *named]  # type: ignore[attr-defined]
        for name in ("counted_out", "counted_in"):
            self.fields[name].required = not self.only_checks
        self.helper = with_button(self, "Save the swap")
        self.helper.layout = Layout("submission", *PARTS)

    def offer(self, tools: Iterable[MillingTool]) -> None:
        """Only these are offered; any tool of the site may be sent, as a form that is sent twice names one that sits by now."""
        field, chosen = self.fields["tool"], self["tool"].value()
        shown = [tool for tool in tools if str(tool.pk) != str(chosen)]
        kept = field.queryset.filter(pk=chosen) if as_id(chosen) else ()  # type: ignore[attr-defined]
        named = [(tool.pk, field.label_from_instance(tool)) for tool in [*kept, *shown]]  # type: ignore[attr-defined]
        field.widget.choices = [("", field.empty_label), *named]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        for name, says in (("material", "Choose what it is for."), ("way", "Choose wet or dry.")):
            if values.get("tool") and not values.get(name):
                self.add_error(name, says)
        values["day"] = values.get("day") or self.today
        if not self.only_checks and not values.get("stood_by"):
            self.ask_who_stood_by("swap tools", values["day"])
        return values

    @property
    def pair(self) -> tuple[Material, MillingWay] | None:
        said = self.cleaned_data
        return (Material(said["material"]), MillingWay(said["way"])) if said["tool"] else None
