"""Plain sentences in the place of Django's own, for every field that has none of its own: each says what to do next."""

from typing import Any

from django.core import validators
from django.forms import fields, models

CHOICE = "Choose one of those offered: this one is not there, or not any more."


def say_plainly() -> None:
    """Called once at the start, before any form is made."""
    for kind, words in FIELDS.items():
        kind.default_error_messages = kind.__dict__.get("default_error_messages", {}) | words
    for check, says in CHECKS.items():
        check.message = says
    validators.DecimalValidator.messages = validators.DecimalValidator.messages | {
        "invalid": "Write a number, such as 2.5.",
        "max_digits": "Write at most %(max)s digits.",
        "max_decimal_places": "Write at most %(max)s digits after the point.",
        "max_whole_digits": "Write at most %(max)s digits before the point.",
    }


FIELDS: dict[type[fields.Field], dict[str, str]] = {
    fields.Field: {"required": "Fill this in: it is needed."},
    fields.IntegerField: {"invalid": "Write a whole number, such as 3."},
    fields.DecimalField: {"invalid": "Write a number, such as 2.5."},
    fields.FileField: {
        "required": "Choose a file.",
        "invalid": "The file did not arrive. Choose it again.",
        "missing": "The file did not arrive. Choose it again.",
        "empty": "The file is empty. Choose the one that was filled in.",
    },
    fields.ChoiceField: {"invalid_choice": CHOICE},
    fields.MultipleChoiceField: {"invalid_choice": CHOICE, "invalid_list": CHOICE},
    fields.UUIDField: {"invalid": "This page is too old. Open it again, and send it then."},
    models.ModelChoiceField: {"invalid_choice": CHOICE},
    models.ModelMultipleChoiceField: {"invalid_list": CHOICE, "invalid_choice": CHOICE, "invalid_pk_value": CHOICE},
}
CHECKS: dict[Any, str] = {
    validators.EmailValidator: "Write the whole address, such as name@example.org.",
    validators.MaxLengthValidator: "Shorten it to %(limit_value)d characters: it has %(show_value)d.",
    validators.MaxValueValidator: "Write %(limit_value)s or less.",
    validators.MinLengthValidator: "Write at least %(limit_value)d characters: it has %(show_value)d.",
    validators.MinValueValidator: "Write %(limit_value)s or more.",
    validators.ProhibitNullCharactersValidator: "There is a character in it that cannot be seen. Type it anew.",
}
