"""A second supervisor marks the same performance, without seeing the first marks."""

from collections.abc import Mapping
from uuid import UUID

from clinic import clock
from clinic.models import Person
from clinic.record import Refusal, record, refuse_if
from clinic.rules.words import begun, several
from training.actions.observe import not_fitting, not_of
from training.models import IndependentMarking, Observation
from training.permissions import has_authority
from training.reads.agreement import WITHIN

"""How long after the performance a second marking is taken: later it is memory, not marking (own rule, D)."""


def mark_too(seen: Observation, marks: Mapping[str, str], *, by: Person, id: UUID) -> IndependentMarking:
    """Record the second marks of a performance, by step. They change nobody's standing; they show how far two people
    who watch the same work agree. Sent twice, it is one."""
    refuse_if(*against_the_marker(seen, by, id), *against_the_marks(seen, marks), sent=id)
    today = clock.today(seen.site.time_zone)
    given = [{"step": row["step"], "mark": marks[row["step"]]} for row in seen.marks]
    return record(
        IndependentMarking(id=id, site=seen.site, happened_on=today, observation=seen, marker=by, marks=given), by=by
    )


def against_the_marker(seen: Observation, by: Person, id: UUID) -> list[Refusal]:
    day = clock.today(seen.site.time_zone)
    again = IndependentMarking.objects.live().filter(observation=seen, marker=by).exclude(pk=id).exists()
    checks = [
        (by.pk == seen.person_id, "Nobody marks their own work.", "Let a colleague with authority mark it."),
        (
            by.pk in (seen.observer_id, seen.recorded_by_id),
            "The first marks of this performance are yours.",
            "Let another supervisor who watched it mark it too.",
        ),
        (
            not has_authority(by, seen.version.procedure, seen.site, seen.happened_on),
            f"{by} had no authority for {seen.version.procedure} here that day.",
            "Ask the owner for authority.",
        ),
        (
            seen.happened_on + WITHIN < day,
            "It is more than a day ago: these would be memories, not marks.",
            "Watch the next performance together, and both mark it then.",
        ),
        (again, "You marked this performance already.", "Take your first marks back if they are wrong."),
    ]
    return [Refusal(says, supply) for wrong, says, supply in checks if wrong]


def against_the_marks(seen: Observation, marks: Mapping[str, str]) -> list[Refusal]:
    unmarked = [row["step"] for row in seen.marks if row["step"] not in marks]
    checks = [
        (
            unmarked,
            begun(f"{several(len(unmarked), 'step is', 'steps are')} not marked."),
            "Mark each; “not seen” is a mark too.",
        ),
        (not_of(seen.version, marks), "A mark is for a step that the version does not have.", "Open the page again."),
        (
            not_fitting(seen.version, marks),
            "A mark does not fit its step.",
            "“Asked” and “not needed” are only for steps with a case.",
        ),
    ]
    return [Refusal(says, supply, "marks") for wrong, says, supply in checks if wrong]
