"""What a procedure says on a day at one unit, for whoever logs its upkeep."""

from datetime import date

from clinic.covering import Procedure as Covering
from clinic.covering import StepSaid
from clinic.models import Organisation
from training.models import Version
from training.rules.place import Answers, said, steps_here
from training.rules.texts import content_from_json


def covering(organisation: Organisation, code: str, on: date, answers: Answers) -> Covering | None:
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
    return Covering(code, version.procedure.title, tuple(lines))
