"""Units change: their name, their serial number, their days in service. What was so before stays in the record."""

from datetime import date

from django.db import transaction

from clinic.changes import change
from clinic.models import Equipment, Person
from clinic.record import Refusal, refuse_if


@transaction.atomic
def change_unit(unit: Equipment, *, by: Person, **changed: object) -> Equipment:
    """Save changed columns and note what they were. Refused where entries lie outside the new days in service."""
    for name, value in changed.items():
        setattr(unit, name, value)
    refuse_if(
        outside(unit, "in_service_from", unit.entries.filter(happened_on__lt=unit.in_service_from).exists()),
        outside(
            unit, "in_service_to",
            unit.in_service_to is not None and unit.entries.filter(happened_on__gt=unit.in_service_to).exists(),
        ),
    )  # fmt: skip
    change(unit, site=unit.site, by=by, said=f"{unit.label} changed")
    return unit


def outside(unit: Equipment, field: str, wrong: bool) -> Refusal | None:
    says = "There are upkeep entries of days when it would not be in service."
    return Refusal(says, "Choose a day that leaves them inside.", field) if wrong else None


def is_in_service(unit: Equipment, day: date) -> bool:
    return unit.in_service_from <= day and (unit.in_service_to is None or day <= unit.in_service_to)
