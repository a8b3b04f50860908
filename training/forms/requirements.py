"""Which job role needs what: one procedure, or a default set."""

from typing import Any

from django import forms

from clinic.forms.base import DayField, with_button
from clinic.forms.roster import ChosenRole
from clinic.models import Site
from training.actions.requirements import DAYS_ALLOWED
from training.models import Procedure
from training.reads.role_sets import default_sets
from training.rules.wording import codes_in_runs

FROM_THE_FIRST = (
    "Bloodborne pathogens are asked from the first day, whatever you write here: before anybody may meet blood."
)


class ForRole(ChosenRole):
    """A job role, from a day, within so many days."""

    from_day = DayField(label="Needed from the day")
    days_allowed = forms.IntegerField(
        label="Days allowed", min_value=0, max_value=730, initial=DAYS_ALLOWED,
        help_text="Counted from the latest of: start in the role, start of the requirement, start of the register. The last one is the due day; 0 is that very day.",
        error_messages={
            "required": "Write how many days, such as 90.", "invalid": "Write a whole number of days, such as 90.",
            "min_value": "Write 0 or more.", "max_value": "Write at most 730, which is two years.",
        },
    )  # fmt: skip

    here_only = forms.BooleanField(label="Only at this site", required=False)

    def keep_here(self, everywhere: bool) -> None:
        """Whoever may not ask it of every site asks it here."""
        if not everywhere:
            self.fields["here_only"].initial = True
            self.fields["here_only"].disabled = True
            self.fields["here_only"].help_text = "Only an owner or coordinator of every site may require it everywhere."


class NewRequirement(ForRole):
    procedure = forms.ModelChoiceField(
        Procedure.objects.none(), label="Procedure or topic", empty_label="Choose",
        error_messages={"required": "Choose a procedure.", "invalid_choice": "Choose one of the list."},
    )  # fmt: skip
    field_order = ["job_role", "new_role", "procedure", "from_day", "days_allowed", "here_only"]

    def __init__(self, site: Site, *args: Any, everywhere: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.propose(site)
        self.keep_here(everywhere)
        self.fields["procedure"].queryset = Procedure.objects.of(site.organisation)  # type: ignore[attr-defined]
        self.helper = with_button(self, "Require it")


class ApplySet(ForRole):
    """Every procedure of a set that the role does not need yet."""

    role_set = forms.ChoiceField(
        label="Default set", widget=forms.RadioSelect,
        error_messages={"required": "Choose a set.", "invalid_choice": "Choose one of the sets."},
    )  # fmt: skip
    field_order = ["job_role", "new_role", "role_set", "from_day", "days_allowed", "here_only"]

    def __init__(self, site: Site, *args: Any, everywhere: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.propose(site)
        self.keep_here(everywhere)
        self.sets = {each.name: each for each in default_sets()}
        labels = [(each.name, f"{each.name}: {each.says} {codes_in_runs(each.codes)}") for each in self.sets.values()]
        self.fields["role_set"].choices = labels  # type: ignore[attr-defined]
        self.fields["days_allowed"].help_text += f" {FROM_THE_FIRST}"
        self.helper = with_button(self, "Apply this set")

    @property
    def codes(self) -> tuple[str, ...]:
        return self.sets[self.cleaned_data["role_set"]].codes
