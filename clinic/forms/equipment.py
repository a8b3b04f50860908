"""Units, their opening readings, a site's own intervals, days on which the practice is closed, stops and returns."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django import forms

from clinic.forms.base import DayField, SubmissionForm, with_button
from clinic.models import Equipment, EquipmentKind, Site, UpkeepTask
from clinic.rules.silenced import asks_reason
from clinic.rules.upkeep_facts import DAY


class UnitForm(forms.Form):
    """A unit of the site. Its kind is chosen once: tasks and entries hang on it."""

    kind = forms.ChoiceField(
        choices=[("", "Choose"), *EquipmentKind.choices], error_messages={"required": "Choose the kind of unit."}
    )
    label = forms.CharField(
        max_length=80, help_text="What people here call it, such as “unit 2, by the sink”.",
        error_messages={"required": "Write what people here call it."},
    )  # fmt: skip
    serial = forms.CharField(label="Serial number", max_length=60, required=False)
    part_of = forms.ModelChoiceField(
        Equipment.objects.none(), label="Part of", required=False, empty_label="Nothing: it stands by itself", help_text="The unit that a tank, a filter or a line belongs to.",
        error_messages={"invalid_choice": "Choose a unit of this site."},
    )  # fmt: skip
    in_service_from = DayField(label="In service from")
    in_service_to = DayField(label="Last day in service", required=False)

    def __init__(self, site: Site, unit: Equipment | None, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.site, self.unit = site, unit
        others = Equipment.objects.filter(site=site).exclude(pk__in=[unit.pk] if unit else [])
        self.fields["part_of"].queryset = others  # type: ignore[attr-defined]
        if unit:
            del self.fields["kind"]
        self.helper = with_button(self, "Save the unit")

    def clean_label(self) -> str:
        """Of a new unit it is the action's question, which knows a form that is sent again."""
        label = str(self.cleaned_data["label"]).strip()
        same = Equipment.objects.filter(site=self.site, label__iexact=label)
        if self.unit and same.exclude(pk=self.unit.pk).exists():
            raise forms.ValidationError("Another unit here has this name. Write what tells them apart.")
        return label

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        first, last = values.get("in_service_from"), values.get("in_service_to")
        if first and last and last < first:
            self.add_error("in_service_to", "It is before the first day in service. Choose a later one.")
        return values


class OpeningForm(SubmissionForm):
    """Where a task stood when the register took the unit over."""

    task = forms.ModelChoiceField(
        UpkeepTask.objects.none(),
        empty_label="Choose the task",
        error_messages={"required": "Choose the task.", "invalid_choice": "Choose a task of this unit."},
    )
    last_done = DayField(label="Last done on")
    units = forms.IntegerField(
        label="Parts or cycles since then", min_value=0, max_value=100_000, initial=0,
        error_messages={
            "required": "Write the number, 0 if none.", "invalid": "Write a whole number, such as 12.",
            "min_value": "It cannot be below 0.", "max_value": "Enter at most 100,000.",
        },
    )  # fmt: skip

    def __init__(self, unit: Equipment, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["task"].queryset = UpkeepTask.objects.filter(equipment_kind=unit.kind)  # type: ignore[attr-defined]
        self.helper = with_button(self, "Save the opening reading")


WHOLE = {
    "invalid": "Write a whole number.",
    "min_value": "Give at least 1, or leave it empty.",
    "max_value": "Write at most %(limit_value)s.",
}


class IntervalForm(SubmissionForm):
    """The site's own interval for a task, with its source."""

    task = forms.ModelChoiceField(
        UpkeepTask.objects.all(), empty_label="Choose the task", error_messages={"required": "Choose the task."}
    )
    from_day = DayField(label="In force from")
    every_days = forms.IntegerField(
        label="Every so many days", required=False, min_value=1, max_value=4000, error_messages=WHOLE
    )
    every_units = forms.IntegerField(
        label="Every so many parts or cycles", required=False, min_value=1, max_value=100_000, error_messages=WHOLE
    )
    warn_days = forms.IntegerField(
        label="Due so many days before",
        min_value=0,
        max_value=400,
        initial=0,
        error_messages=WHOLE | {"required": "Write the number, 0 if none."},
    )
    plan_units = forms.IntegerField(
        label="Due from so many parts or cycles", required=False, min_value=1, max_value=100_000, error_messages=WHOLE
    )
    source = forms.CharField(
        max_length=200, help_text="The maker’s instructions, title and page. The maker’s interval wins over every default.",
        error_messages={"required": "Say where the interval comes from."},
    )  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Save the interval")


class ClosureForm(SubmissionForm):
    """Days on which the practice is closed: upkeep clocks stand still."""

    first = DayField(label="First closed day")
    last = DayField(label="Last closed day")
    reason = forms.CharField(max_length=200, required=False)
    seen = forms.BooleanField(
        label="I have seen what falls with it", required=False, widget=forms.HiddenInput,
    )  # fmt: skip

    def __init__(self, today: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.helper = with_button(self, "Save the closed days")

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        if values.get("first") and values.get("last") and values["last"] < values["first"]:
            self.add_error("last", "It is before the first closed day. Choose a later one.")
        elif self.asks_reason(values) and not values.get("reason", "").strip():
            self.add_error("reason", "It is long, or reaches back over days that were judged already. Say why.")
        return values

    def asks_reason(self, values: dict[str, Any]) -> bool:
        first, last = values.get("first"), values.get("last")
        return asks_reason(first, last + DAY, self.today) if first and last else False

    def show_first(self, falls: Sequence[str]) -> None:
        """What falls with it is shown once beside the form, and saved when it is sent again with the tick. Of a closure that
        touches nothing yet, and asks no reason, there is nothing to show."""
        if not falls and not self.asks_reason(self.cleaned_data):
            return
        self.fields["seen"].widget = forms.CheckboxInput()
        says = "Look at what falls with it" if falls else "Nothing that is recorded changes by it"
        self.add_error("seen", f"Nothing is saved yet. {says}. Tick this where it is right, and save again.")


class StopForm(SubmissionForm):
    """One tap on a stop rule, or words of one's own."""

    equipment = forms.ModelChoiceField(
        Equipment.objects.none(), label="Unit", empty_label="Choose the unit",
        error_messages={"required": "Choose the unit.", "invalid_choice": "Choose a unit of this site."},
    )  # fmt: skip
    rule = forms.CharField(required=False, max_length=200, widget=forms.HiddenInput)
    reason = forms.CharField(label="What you saw or heard", required=False, max_length=500)

    def __init__(self, site: Site, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["equipment"].queryset = Equipment.objects.filter(site=site)  # type: ignore[attr-defined]

    @property
    def why(self) -> str:
        """The rule that was tapped, what was written, or both."""
        return ": ".join(filter(None, (self.cleaned_data["rule"].strip(), self.cleaned_data["reason"].strip())))


class ReturnForm(SubmissionForm):
    check_done = forms.CharField(
        label="What was checked before it goes back into use", max_length=1000, widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Name the check that its procedure asks for."},
    )  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Return it to service")
