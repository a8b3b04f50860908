"""A table handed in as a file, checked, put right on the page, and entered."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from clinic.csv_rows import LIMITS, MOST_BYTES, NotCsv
from clinic.workbooks import text_of


class TableFile(forms.Form):
    """A CSV file or a workbook, or its lines as text: the text of a file with faults stands on the page to be put right there."""

    file = forms.FileField(
        label="CSV file or workbook (XLSX)",
        required=False,
        help_text=LIMITS,
        error_messages={"empty": "The file is empty. Choose another one."},
    )
    text = forms.CharField(
        label="Or its lines", required=False, strip=False, max_length=MOST_BYTES,
        help_text="The first line names the columns. What is typed here is checked when no file is chosen.",
        widget=forms.Textarea(attrs={"rows": 12, "spellcheck": "false", "autocomplete": "off", "class": "is-table"}),
        error_messages={"max_length": "That is more than one file takes. Split it."},
    )  # fmt: skip

    def clean_file(self) -> str:
        """The text of the file; empty where none was chosen."""
        file = self.cleaned_data["file"]
        if file is None:
            return ""
        try:
            return text_of(file.read(MOST_BYTES + 1))
        except NotCsv as wrong:
            raise ValidationError(str(wrong)) from None

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if not self.errors and not data.get("file") and not data.get("text", "").strip():
            raise ValidationError("Choose a file, or write its lines.")
        return data

    @property
    def lines(self) -> str:
        """The text to be read: that of the file, where one was chosen."""
        return self.cleaned_data["file"] or self.cleaned_data["text"].removeprefix("\ufeff")

    def as_text(self) -> "TableFile":
        """The same form with the file's lines in it, so that they can be put right on the page."""
        return TableFile({"text": self.lines})
