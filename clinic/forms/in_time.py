"""Which days are looked at."""

from datetime import date
from typing import Any

from django import forms

from clinic.forms.base import DayField

MOST = 3660


class PeriodForm(forms.Form):
    """From a day through a day, today at the latest."""

    first = DayField(label="From")
    last = DayField(label="Through")

    def __init__(self, today: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today

    def clean_last(self) -> date:
        last: date = self.cleaned_data["last"]
        if last > self.today:
            raise forms.ValidationError("That day has not come. Choose today or earlier.")
        return last

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        first, last = values.get("first"), values.get("last")
        if first and last and first > last:
            self.add_error("first", "It begins after it ends. Choose an earlier day.")
        elif first and last and (last - first).days > MOST:
            self.add_error("first", "That is more than ten years. Choose a later day.")
        return values
