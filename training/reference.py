"""The tables of reference data of the training: see `clinic.reference`."""

from clinic.reference import REFERENCE, Columns
from training.models import InspectorPass, Procedure, Requirement


def register() -> None:
    REFERENCE[Procedure] = Columns(
        ("organisation_id", "code", "title", "area", "kind", "equipment_kind", "stands_for", "returns")
    )
    REFERENCE[Requirement] = Columns(("job_role_id", "procedure_id", "site_id", "days_allowed", "from_day", "to_day"))
    REFERENCE[InspectorPass] = Columns(("person_id", "issue_id", "until", "given_by_id", "taken_back_at"))
