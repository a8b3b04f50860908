"""Choosing a day, and the day by which it was known."""

from django import forms

from clinic.forms.base import DayField


class AsOf(forms.Form):
    day = DayField(label="As of the day", required=False)
    known = DayField(label="As known by the end of", required=False, help_text="Leave empty for what is known now.")
