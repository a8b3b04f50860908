"""Which tables hold reference data: rows that may change, and that answers rest on. What each row says is what the sealed
`Change` facts about it say, and nothing else; `clinic.replay` proves it.

Rows are made, changed and ended through `clinic.changes` only. Each room adds its own tables; a house test holds that every
table is a fact, is here, is derived from them, or decides nothing and says why.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db import models

from clinic.models import (
    Absence,
    Account,
    Appointment,
    BlockLot,
    Equipment,
    JobRole,
    MillingTool,
    Organisation,
    OutsideWitness,
    Person,
    RoleHeld,
    Site,
    SiteFact,
    UpkeepTask,
)
from clinic.models.records import plain

HEAD = "It is the head of the site's chain, which the check of the seals works out."


@dataclass(frozen=True, slots=True)
class Columns:
    """The columns (as the database names them) that changes say, and those beside them, each with why it decides nothing."""

    deciding: tuple[str, ...]
    beside: Mapping[str, str] = field(default_factory=dict)


REFERENCE: dict[type[models.Model], Columns] = {
    Organisation: Columns(("name",)),
    Site: Columns(
        ("organisation_id", "name", "code", "address", "time_zone", "paper", "language", "register_start", "working_days",
         "infection_coordinator", "must_keep_1904"),
        dict.fromkeys(("last_position", "last_digest", "last_recorded_at", "peaks"), HEAD),
    ),
    SiteFact: Columns(("name", "of", "ask", "question")),
    JobRole: Columns(("organisation_id", "title")),
    Person: Columns(
        ("organisation_id", "home_site_id", "given_name", "family_name", "staff_number", "email", "language", "last_day",
         "working_days"),
        {"has_namesake": "It follows from the names of all people, and the check of the seals works it out anew."},
    ),
    RoleHeld: Columns(("person_id", "site_id", "job_role_id", "from_day", "to_day")),
    Appointment: Columns(("person_id", "post", "site_id", "from_day", "to_day")),
    Absence: Columns(("person_id", "from_day", "to_day")),
    OutsideWitness: Columns(("organisation_id", "printed_name", "qualification", "comes_from", "identified_how")),
    Account: Columns(
        ("person_id", "sign_in_name", "is_active", "created_at", "identity_checked"),
        {
            "password": "A secret, made anew by the hasher when it grows stronger. That it was chosen is a fact.",
            "last_login": "It is written at each sign-in and read by nobody.",
            "policy_accepted_at": "It goes with the first password, which is a fact.",
        },
    ),
    Equipment: Columns(
        ("site_id", "kind", "label", "serial", "part_of_id", "in_service_from", "in_service_to"),
    ),
    MillingTool: Columns(("site_id", "code", "kind", "size", "seat", "positions", "life_unit", "life")),
    BlockLot: Columns(("site_id", "lot", "material", "factor", "received_on")),
    UpkeepTask: Columns(
        ("code", "title", "equipment_kind", "every_days", "every_units", "warn_days", "plan_units", "unit_word",
         "covered_by", "stands_for", "readings", "source", "closer_days", "only_a_pass"),
    ),
}  # fmt: skip


def said_of(row: models.Model) -> dict[str, Any]:
    """The deciding columns of the row, each as JSON keeps it: the same before it is stored and after it is read back."""
    named = {each.attname: each for each in row._meta.concrete_fields}
    return {name: settled(named[name], named[name].value_from_object(row)) for name in REFERENCE[type(row)].deciding}


def settled(column: Any, value: Any) -> Any:
    """A day as text where it was typed as text, a decimal with the digits that are stored, a list as JSON reads it."""
    column = column.target_field if column.is_relation else column
    if value is None:
        return None
    if isinstance(column, models.DecimalField):
        return str(column.to_python(value).quantize(column.to_python(10) ** -column.decimal_places))
    if isinstance(column, models.JSONField):
        return value
    found = plain(column.to_python(value))
    return str(found) if isinstance(found, str) else found
