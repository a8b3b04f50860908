"""What a procedure says on a day at one unit, for whoever logs its upkeep."""

from collections.abc import Mapping
from datetime import date

from clinic.covering import Procedure as Covering
from clinic.covering import StepSaid
from clinic.models import Organisation
from training.models import Version
from training.rules.place import Answer, said, steps_here
from training.rules.texts import content_from_json

NOT_USED = "not used here"


def covering(organisation: Organisation, code: str, on: date, answers: Mapping[str, str]) -> Covering | None:
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
    here = {name: Answer(words, words == NOT_USED) for name, words in answers.items()}
    steps = steps_here(content_from_json(version.content).steps, here)
    lines = (
        StepSaid(said(step.do, here), step.critical, said(step.when, here), said(step.caution, here)) for step in steps
    )
    return Covering(code, version.procedure.title, tuple(lines))
