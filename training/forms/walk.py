"""The form of one question of the walk round: for each place an answer, or that it is not used here."""

from collections.abc import Sequence
from typing import Any

from django import forms

from clinic.forms.base import SubmissionForm
from clinic.rules.site_text import does_not_fit
from training.forms.lenient import WantedText
from training.reads.walk import FactSquare


def help_of(square: FactSquare) -> str:
    """What to write, and an invented answer that fits."""
    return f"{square.fact.ask}. For example: {square.example}" if square.example else square.fact.ask


class WalkForm(SubmissionForm):
    """Two fields for each square. An empty pair leaves the question open."""

    def __init__(self, squares: Sequence[FactSquare], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.squares = list(squares)
        for square in self.squares:
            value = square.value
            self.fields[square.name] = WantedText(
                label=f"{square.fact.name}, {square.place}", help_text=help_of(square),
                widget=forms.Textarea(attrs={"rows": 2, "data-fills": f"{square.name}-reads"}),
                initial=value.value if value else "",
            )  # fmt: skip
            self.fields[f"{square.name}-not"] = forms.BooleanField(
                label="Not used here", required=False, initial=bool(value and value.not_used)
            )

    def pair(self, square: FactSquare) -> tuple[Any, Any]:
        return self[square.name], self[f"{square.name}-not"]

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        for square in self.squares:
            value, before = said.get(square.name, ""), square.value
            both = value.strip() and said.get(f"{square.name}-not")
            typed = before is None or value.strip() != before.value
            if typed and (wrong := does_not_fit(value)):
                self.add_error(square.name, wrong)
            if both and typed:
                self.add_error(square.name, "Write an answer, or tick “not used here”: not both.")
            cleared = before is not None and not value.strip() and not said.get(f"{square.name}-not")
            if cleared:
                self.add_error(square.name, "An answer cannot be emptied. Write the new one, or tick “not used here”.")
        return said
