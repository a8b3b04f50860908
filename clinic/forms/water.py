"""The bands of coolant, with the edition they come from; the makers' limits of lines; what was changed at a line."""

from typing import Any

from django import forms

from clinic.forms.base import DayField, SubmissionForm, with_button
from clinic.models import Equipment, Site
from clinic.rules.water import HSE_2012, HSE_CURRENT, Edges

MOST = 1_000_000_000
WHOLE = {
    "invalid": "Write a whole number, such as 10000.",
    "min_value": "Write a number above 0.",
    "max_value": "That many cannot be right. Write at most %(limit_value)s.",
}


class BandsForm(SubmissionForm):
    edition = forms.CharField(
        max_length=160, help_text=f"Such as “{HSE_CURRENT.edition}” or “{HSE_2012.edition}”.",
        error_messages={"required": "Say which edition it is."},
    )  # fmt: skip
    reasonable_from = forms.IntegerField(
        label="Reasonable from, CFU/mL", min_value=1, max_value=MOST,
        error_messages=WHOLE | {"required": "Write where reasonable begins."},
    )  # fmt: skip
    poor_from = forms.IntegerField(
        label="Poor from, CFU/mL", min_value=1, max_value=MOST,
        error_messages=WHOLE | {"required": "Write where poor begins."},
    )  # fmt: skip
    from_day = DayField(label="In force from")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Save the bands")

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        low, high = values.get("reasonable_from"), values.get("poor_from")
        if low and high and low >= high:
            self.add_error("poor_from", f"Poor begins above reasonable. Write more than {low:,}.")
        return values

    @property
    def edges(self) -> Edges:
        said = self.cleaned_data
        return Edges(said["edition"].strip(), said["reasonable_from"], said["poor_from"])


class LimitForm(SubmissionForm):
    """The number, its unit and its source, each by itself: a text can name a year or a page."""

    equipment = forms.ModelChoiceField(
        Equipment.objects.none(), label="For", required=False, empty_label="Every line of the site",
        error_messages={"invalid_choice": "Choose a line or a dental unit of this site."},
    )  # fmt: skip
    number = forms.IntegerField(
        label="Limit, CFU/mL", required=False, min_value=1, max_value=MOST, error_messages=WHOLE,
        help_text="Only the number. Left empty: its maker gives none, and 500 holds.",
    )  # fmt: skip
    source = forms.CharField(
        label="Where its maker says so", max_length=200, help_text="Such as: instructions of 2024, page 17.",
        error_messages={"required": "Name the instructions, title and page."},
    )  # fmt: skip
    from_day = DayField(label="In force from")

    def __init__(self, site: Site, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        here = Equipment.objects.filter(site=site, kind__in=("dental unit", "dental-unit water line"))
        self.fields["equipment"].queryset = here.order_by("kind", "label")  # type: ignore[attr-defined]
        self.helper = with_button(self, "Save the limit")


class ChangedForm(SubmissionForm):
    what = forms.CharField(
        label="What was changed", max_length=200, help_text="Such as: new tubing, another treatment.",
        error_messages={"required": "Say what was changed."},
    )  # fmt: skip
    day = DayField(label="On")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = with_button(self, "Save the change")
