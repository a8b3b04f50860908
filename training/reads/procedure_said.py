"""What a procedure says on a day at one unit, for whoever logs its upkeep, and what each stands for."""

from datetime import date

from clinic.models import Organisation
from clinic.port import ProcedureSaid, Roles, StepSaid
from training.gather import PROCEDURES
from training.models import Version
from training.rules.place import Answers, said, steps_here
from training.rules.texts import content_from_json


def procedure_on(organisation: Organisation, code: str, on: date, answers: Answers) -> ProcedureSaid | None:
    """The version in force on the day with the unit's answers in its steps; None where none is in force."""
    version = (
        Version.objects.live()
        .in_force(on)
        .filter(procedure__organisation=organisation, procedure__code=code)
        .select_related("procedure")
        .first()
    )
    if version is None:
        return None
    steps = steps_here(content_from_json(version.content).steps, answers)
    lines = (
        StepSaid(
            said(step.do, answers), step.critical, said(step.when, answers, begins=False), said(step.caution, answers)
        )
        for step in steps
    )
    return ProcedureSaid(code, version.procedure.title, tuple(lines))


def roles_of(organisation: Organisation) -> Roles:
    """By the rows of the organisation, as the library was loaded. One query."""
    rows = list(PROCEDURES.rows(organisation=[organisation.pk]))
    return Roles(
        {role: code for _, code, _, _, role, _ in rows if role},
        {kind: code for _, code, _, _, _, kinds in rows for kind in kinds},
    )
