"""The counts behind what an inspector asks. The questions and their answers are the document's own."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from clinic.models import RoleHeld
from training.documents.binder import content as b
from training.documents.binder.asks import Known, standard
from training.models import FoundingGrant, Observation, Procedure, Requirement, StandingSpan
from training.reads.binder_asked import Asked
from training.reads.binder_extras import Extras
from training.reads.binder_seals import SealsRead
from training.reads.binder_upkeep import Upkeep
from training.reads.findings_people import signers
from training.reads.matrix import Squares
from training.rules.findings_closed import Occurrence

PATHOGENS = "T01"  # the library's code of bloodborne pathogens
PLAN = "exposure control plan"


@dataclass(frozen=True, slots=True)
class Counted:
    """What was gathered for the other sections, from which most counts follow."""

    matrix: Squares
    upkeep: Upkeep
    extras: Extras
    sessions: Sequence[b.Session]
    events: Sequence[b.EventRow]
    kept: Sequence[b.KeptRow]
    findings: Sequence[Occurrence]
    texts: Sequence[b.ProcedureText]
    roster: int
    sealed: SealsRead


def questions(asked: Asked, counted: Counted) -> list[b.Question]:
    return standard(known(asked, counted))


def known(asked: Asked, c: Counted) -> Known:
    """Eleven queries for any number of people."""
    near = sum("near" in event.kind.lower() for event in c.events)
    return Known(
        **people_counts(asked, c),
        **pathogens(asked),
        **record_counts(c),
        sessions=len(c.sessions),
        holes=sum(bool(session.countable) for session in c.sessions),
        unasked=sum(not session.live_questions for session in c.sessions),
        events=len(c.events) - near,
        near=near,
        voluntary=not asked.site.must_keep_1904,
        spores=c.extras.spores,
        spores_bad=c.extras.spores_bad,
        lines=c.extras.lines,
        lines_over=c.extras.lines_over,
        sampled=c.extras.sampled,
        drivers=c.extras.drivers,
        drivers_good=c.extras.drivers_good,
        entries=len(c.upkeep.rows),
        late_days=c.upkeep.late_days,
        helped=c.upkeep.helped,
        alone=c.upkeep.bare,
    )


def people_counts(asked: Asked, c: Counted) -> dict[str, Any]:
    seen = Observation.objects.live().filter(site=asked.site, happened_on__range=(asked.first, asked.last))
    outside = seen.filter(witness__isnull=False).values("witness").distinct().count()
    inside = seen.filter(observer__isnull=False).values("observer").distinct().count()
    able = {name for _, names in signers(asked.site, asked.as_of) for name in names}
    founding = FoundingGrant.objects.live().filter(site=asked.site, happened_on__lte=asked.last)
    return {
        "people": c.roster,
        "may": len({person for (person, _), square in c.matrix.squares.items() if square.state.is_usable}),
        "performances": seen.values("performance").distinct().count(),
        "watchers": inside + outside,
        "outside": outside,
        "signers": len(able),
        "founding": founding.count(),
        "texts": len(c.texts),
        "texts_checked": sum(bool(text.maker) for text in c.texts),
    }


def pathogens(asked: Asked) -> dict[str, Any]:
    """People whose role asks for it on the day, and who of them are good in it."""
    day, site = asked.as_of, asked.site
    topic = Procedure.objects.filter(organisation=site.organisation, code=PATHOGENS)
    roles = Requirement.objects.in_force(day).at(site).filter(procedure__in=topic).values("job_role")
    people = set(RoleHeld.objects.held_on(day).filter(site=site, job_role__in=roles).values_list("person", flat=True))
    good = StandingSpan.objects.on(day).usable().filter(procedure__in=topic, person__in=people)
    return {"topic_asked": len(people), "topic_good": good.values("person").distinct().count()}


def record_counts(c: Counted) -> dict[str, Any]:
    plan = next((row for row in c.kept if PLAN in row.what.lower()), None)
    return {
        "found": len(c.findings),
        "ended": sum(not one.is_open for one in c.findings),
        "facts": c.sealed.site.last_position,
        "whole": c.sealed.is_whole,
        "checked": c.sealed.day,
        "plan": plan,
        "kept": len(c.kept),
    }
