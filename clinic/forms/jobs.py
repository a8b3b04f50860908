"""Starting a job from its block, ending it, and what the site wants in each position."""

from datetime import date
from decimal import Decimal
from typing import Any

from django import forms

from clinic.actions.upkeep import MOST_UNITS
from clinic.forms.base import DayField, SubmissionForm, with_button
from clinic.forms.blocks import FactorField
from clinic.forms.standing_by import AsksWhoStoodBy
from clinic.forms.upkeep import NOBODY
from clinic.models import BlockLot, Equipment, JobStarted, Person, Site
from clinic.models.tools import choices
from clinic.port import code_of, usable_people
from clinic.rules.block_codes import MOST, ONE_SHORT, code_asked, plain_number, wrong_length
from clinic.rules.jobs import LONGEST_CASE, Cause, JobOutcome
from clinic.rules.roles import ProcedureRole
from clinic.rules.tools import TYPO_ABOVE, TYPO_BELOW, Material, MillingWay, Tool
from clinic.rules.words import begun

LOTS_SHOWN = 60
FOUR_DIGITS = Decimal("0.0001")
CASE_SAYS = "The practice’s own number, such as 26-0417. Never a patient’s name, initials or birthday."


class Lots(forms.ModelChoiceField):
    def label_from_instance(self, lot: BlockLot) -> str:  # type: ignore[override]
        return f"{lot.lot}: {lot.material}{f', factor {lot.factor}' if lot.factor else ''}"


class StartJobForm(AsksWhoStoodBy, SubmissionForm):
    """`last`: the job before on this unit, whose lot and way stand there already; `factor_code`: how the site says that the
    code of a lot is counted."""

    case = forms.CharField(
        label="Case number", max_length=LONGEST_CASE, help_text=CASE_SAYS,
        error_messages={"required": "Write the number of the case.", "max_length": f"Shorten it to {LONGEST_CASE} characters: a number, no name."},
        widget=forms.TextInput(attrs={"class": "is-short", "autocomplete": "off"}),
    )  # fmt: skip
    lot = Lots(
        BlockLot.objects.none(), label="Lot of the block", empty_label="Choose the lot",
        error_messages={"required": "Choose the lot of the block.", "invalid_choice": "Choose a lot of this site."},
    )  # fmt: skip
    way = forms.ChoiceField(
        label="Wet or dry",
        choices=[("", "Choose"), *choices(MillingWay)],
        error_messages={"required": "Choose wet or dry."},
    )
    block_code = forms.CharField(
        label="Code as printed on the block", required=False, max_length=MOST, strip=True,
        widget=forms.TextInput(attrs={"class": "is-short", "autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}),
    )  # fmt: skip
    factor = FactorField(label="Factor that the unit was given", required=False)
    stood_by = forms.ChoiceField(
        label="Who stood by",
        required=False,
        error_messages={"invalid_choice": "Choose somebody of this site, or nobody."},
    )
    day = DayField(label="Started on", required=False, help_text="Empty: today.")

    def __init__(
        self, site: Site, today: date, me: Person, last: JobStarted | None, factor_code: str, data: Any = None
    ) -> None:
        before = {"lot": last.lot_id, "way": "wet" if last.wet else "dry"} if last else {}
        super().__init__(data, initial={"day": today} | before)
        self.site, self.today, self.me = site, today, me
        self.code = code_of(site.organisation, ProcedureRole.MILLING)
        usable = usable_people(site.organisation, self.code, today)
        self.people = {str(person.pk): person for person in Person.objects.ever_at_site(site).by_name()}
        self.fields["lot"].queryset = BlockLot.objects.filter(site=site, received_on__lte=today)  # type: ignore[attr-defined]
        named = [
            (key, f"{person}, may do it alone" if person.pk in usable else str(person))
            for key, person in self.people.items()
            if person != me
        ]
        self.fields["stood_by"].choices = [("", "Not needed, or choose"), (NOBODY, "Nobody stood by"), *named]  # type: ignore[attr-defined]
        self.fields["factor"].help_text = "As on the packet of this block, for what shrinks when it is fired."
        self.asked = code_asked(factor_code)
        self.ask_code(factor_code)
        self.helper = with_button(self, "Start the job")

    def ask_code(self, says: str) -> None:
        """Asked where the site said how many characters it has; counted while it is typed (`codes.js`), and here again."""
        if self.asked is None:
            del self.fields["block_code"]
            return
        self.fields["block_code"].help_text = f"{begun(says)}. Where it is a plain number, it is the factor too."
        self.fields["block_code"].widget.attrs |= {
            "data-code-length": str(self.asked.length), "data-left-out": self.asked.left_out, "data-one-short": ONE_SHORT,
        }  # fmt: skip

    def clean_block_code(self) -> str:
        code = str(self.cleaned_data["block_code"])
        if code and self.asked and (wrong := wrong_length(code, self.asked)):
            raise forms.ValidationError(
                f"{begun(wrong)} Where that is its code, put the answer of the walk round right."
            )
        return code

    def take_factor(self, values: dict[str, Any]) -> None:
        """The code is the factor where it is a plain number that can be one; two that differ are asked about."""
        number = plain_number(values.get("block_code") or "")
        if number is None or not TYPO_BELOW <= number <= TYPO_ABOVE or "factor" in self.errors:
            return
        if values.get("factor") is None:
            values["factor"] = number.quantize(FOUR_DIGITS)
        elif values["factor"] != number:
            self.add_error("factor", f"The code says {number}: type one of them again, as it is printed.")

    def clean_case(self) -> str:
        return str(self.cleaned_data["case"]).strip()

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        values["day"] = values.get("day") or self.today
        self.take_factor(values)
        if not values.get("stood_by"):
            self.ask_who_stood_by("mill", values["day"])
        return values


class EndForm(SubmissionForm):
    """One tap where it came out good; why, where it did not."""

    outcome = forms.ChoiceField(
        label="How did it come out?", widget=forms.RadioSelect,
        choices=[("good", "Good"), ("remade", "To be made again"), ("crash", "Crash")],
        error_messages={"required": "Say how it came out."},
    )  # fmt: skip
    cause = forms.ChoiceField(
        label="Where it did not come out good: what from?", required=False,
        choices=[("", "It came out good"), *[(cause.value, begun(cause.value)) for cause in Cause]],
    )  # fmt: skip
    parts = forms.IntegerField(
        label="Parts from the block", min_value=1, max_value=200, initial=1, widget=forms.NumberInput(attrs={"class": "is-short"}),
        error_messages={"required": "Count the parts.", "min_value": "The number must be at least one."},
    )  # fmt: skip
    minutes = forms.IntegerField(
        label="Minutes, as the unit counts them", required=False, min_value=1, max_value=MOST_UNITS,
        widget=forms.NumberInput(attrs={"class": "is-short"}), help_text="Empty where the unit counts none.",
    )  # fmt: skip
    note = forms.CharField(
        required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2}), help_text="No name of a patient."
    )
    day = DayField(label="Ended on", required=False, help_text="Empty: today.")

    def __init__(self, today: date, job: JobStarted, data: Any = None) -> None:
        super().__init__(data, initial={"day": today})
        self.today, self.job = today, job
        self.helper = with_button(self, "Save how it ended")

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        values["day"] = values.get("day") or self.today
        return values

    @property
    def outcome_said(self) -> JobOutcome:
        return JobOutcome(self.cleaned_data["outcome"])


class SetForm(forms.Form):
    """For which material the set is looked at; in the address, so that it can be passed on."""

    material = forms.ChoiceField(choices=choices(Material))
    way = forms.ChoiceField(label="Wet or dry", choices=choices(MillingWay))


class SetLineForm(SubmissionForm):
    """What the site wants in a position for a material."""

    material = forms.ChoiceField(choices=choices(Material))
    way = forms.ChoiceField(label="Wet or dry", choices=choices(MillingWay))
    position = forms.CharField(
        max_length=20, error_messages={"required": "Write which position."},
        widget=forms.TextInput(attrs={"class": "is-short", "autocomplete": "off"}),
    )  # fmt: skip
    tool = forms.ChoiceField(
        label="Kind of tool", required=False, choices=[("", "None: nothing is asked there"), *choices(Tool)]
    )
    size = forms.CharField(max_length=40, required=False, help_text="Such as 2.0 mm; empty: any.")
    day = DayField(label="From")

    def __init__(self, unit: Equipment, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = unit
        self.helper = with_button(self, "Save the line")
