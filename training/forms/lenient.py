"""Fields that are wanted and not demanded: an empty one is kept as it is, and what it stops is said elsewhere."""

from typing import Any

from django import forms


class WantedText(forms.CharField):
    """Text that should be there. Empty passes; the page does not call it optional."""

    def validate(self, value: Any) -> None:
        if value:
            super().validate(value)


class WantedChoice(forms.TypedChoiceField):
    """A choice that should be made. Empty passes as None."""

    def validate(self, value: Any) -> None:
        if value not in self.empty_values:
            super().validate(value)
