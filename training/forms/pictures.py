"""The form of a photo beside a step or a site fact. Parts of it are covered before it is kept: in none of its bytes."""

from collections.abc import Sequence
from typing import Any

from django import forms

from clinic.forms.base import SubmissionForm
from clinic.forms.upkeep import PhotoField
from clinic.photos import ACROSS, DOWN, LIMITS, covered

ANYWHERE = ""
NO_PATIENT = (
    "Of the unit or the part. Never a patient’s name or face, nor a screen with a case on it: cover what must not be seen, or "
    "take it again."
)


def cell_words(number: int) -> str:
    row, column = divmod(number, ACROSS)
    return f"row {row + 1}, {column + 1} from the left"


class PlacePhotoForm(SubmissionForm):
    """`units`: where it may have been taken, as (key, label); `steps`: which step it stands beside, as (key, words), none for
    a site fact."""

    step = forms.ChoiceField(
        label="Beside which step",
        error_messages={"required": "Choose the step.", "invalid_choice": "Choose one of the steps."},
    )
    unit = forms.ChoiceField(
        label="Taken at", required=False, error_messages={"invalid_choice": "Choose one of the units, or the site."}
    )
    photo = PhotoField(
        label="Photo",
        help_text=f"{NO_PATIENT} {LIMITS}",
        error_messages={"required": "Take the photo, or choose a file."},
    )
    cover = forms.MultipleChoiceField(
        label="Cover", required=False, choices=[(str(n), cell_words(n)) for n in range(ACROSS * DOWN)],
        widget=forms.CheckboxSelectMultiple, error_messages={"invalid_choice": "Choose among the parts of the photo."},
    )  # fmt: skip
    says = forms.CharField(
        label="What it shows", max_length=160, help_text="Such as: the round grey valve behind the left door.",
        error_messages={"required": "Write a few words, for whoever does not see it."},
    )  # fmt: skip

    def __init__(
        self, units: Sequence[tuple[str, str]], steps: Sequence[tuple[str, str]], *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["unit"].choices = units  # type: ignore[attr-defined]
        if steps:
            self.fields["step"].choices = [("", "Choose the step"), *steps]  # type: ignore[attr-defined]
        else:
            del self.fields["step"]

    @property
    def cells(self) -> list[Any]:
        """The boxes of what is covered, in rows."""
        return list(self["cover"])

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if said.get("photo") and said.get("cover"):
            said["photo"] = covered(said["photo"], frozenset(map(int, said["cover"])))
        return said
