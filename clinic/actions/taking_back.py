"""Taking back what the clinic recorded: the fact, and whatever was recorded with it and means nothing without it.

A mistaken spore test stopped its steriliser: taking the test back takes the stop with it. A swap counted a cycle of its
driver: that goes with the swap. A job that was ended counted its parts: they go with its end, and its end with the job.
"""

from collections.abc import Iterable
from uuid import UUID, uuid5

from django.db import transaction

from clinic import clock
from clinic.actions.jobs import use_id
from clinic.actions.upkeep import is_out_of_service
from clinic.models import (
    ChemicalGone,
    ChemicalListed,
    Fact,
    JobEnded,
    JobStarted,
    OutOfService,
    Person,
    ResultRead,
    SiteFactValue,
    ToolMounted,
    ToolRemoved,
    UpkeepEntry,
    Use,
    Verification,
    Voiding,
    WaterLimit,
)
from clinic.port import returned_by, usable_people
from clinic.reads.water_limits import FACT
from clinic.record import Refusal, refuse_if, void


@transaction.atomic
def take_back(fact: Fact, *, by: Person, reason: str, id: UUID | None = None) -> Voiding:
    """Take the fact away, with what goes with it. Refused where something later rests on it, naming what comes first."""
    sent_before = Voiding.objects.filter(pk=id).exists() if id else False
    if not sent_before:
        refuse_if(*refusals(fact, by))
    row = void(fact, by=by, reason=reason, id=id)
    for other in [] if sent_before else goes_with(fact):
        void(other, by=by, reason=reason, id=uuid5(row.pk, str(other.pk)))
    return row


def goes_with(fact: Fact) -> list[Fact]:
    """What was recorded with it, as far as it stands."""
    found: list[Iterable[Fact]] = []
    if isinstance(fact, Verification):
        found.append(UpkeepEntry.objects.live().filter(pk=uuid5(fact.pk, "entry")))
    if isinstance(fact, UpkeepEntry):
        results = list(ResultRead.objects.live().filter(entry=fact))
        found += [results, *(stops_by(result) for result in results)]
    if isinstance(fact, Verification | UpkeepEntry | ResultRead):
        found.append(stops_by(fact))
    if isinstance(fact, ToolMounted):
        found.append(Use.objects.live().filter(pk=uuid5(fact.pk, "tightened")))
    if isinstance(fact, JobEnded):
        found.append(Use.objects.live().filter(pk=use_id(fact)))
    if isinstance(fact, JobStarted):
        ends = list(JobEnded.objects.live().filter(job=fact))
        found += [ends, Use.objects.live().filter(pk__in=[use_id(end) for end in ends])]
    if isinstance(fact, WaterLimit):
        found.append(SiteFactValue.objects.live().filter(pk=uuid5(fact.pk, FACT)))
    if isinstance(fact, ChemicalListed):
        found.append(ChemicalGone.objects.live().filter(listed=fact))
    return [one for rows in found for one in rows]


def stops_by(fact: Fact) -> Iterable[Fact]:
    return OutOfService.objects.live().filter(pk=uuid5(fact.pk, "stop"))


def refusals(fact: Fact, by: Person) -> list[Refusal]:
    if isinstance(fact, OutOfService):
        return stop_refusals(fact, by)
    later = Refusal("Something later rests on it.", "Take the later swap of this tool or this position back first.")
    if isinstance(fact, ToolMounted):
        return [later] if ToolRemoved.objects.live().filter(mounting=fact).exists() else []
    if isinstance(fact, JobEnded):
        after = JobEnded.objects.live().filter(job=fact.job_id, recorded_at__gt=fact.recorded_at)
        remade = Refusal("It was said later that this part is made again.", "Take that back first.")
        return [remade] if after.exists() else []
    if isinstance(fact, ToolRemoved):
        place = fact.mounting
        since = ToolMounted.objects.live().filter(recorded_at__gt=place.recorded_at)
        here = since.filter(equipment=place.equipment_id, position=place.position)
        return [later] if here.exists() or since.filter(tool=place.tool_id).exists() else []
    return []


def stop_refusals(stop: OutOfService, by: Person) -> list[Refusal]:
    """A stop by a failed check goes with that check; any other that still holds is lifted only by who may return it."""
    unit, code = stop.equipment, returned_by(stop.site.organisation, stop.equipment.kind)
    today = clock.today(stop.site.time_zone)
    usable = not code or by.pk in usable_people(stop.site.organisation, code, today)
    checks = [
        (any(uuid5(pk, "stop") == stop.pk for pk in checks_of(stop)), "It was stopped by a check that failed.", "Where that check was wrong, take the check back: the stop goes with it."),
        (not usable and is_out_of_service(unit), f"Taking it back would return {unit} to use.", f"Ask somebody who holds {code} today."),
    ]  # fmt: skip
    return [Refusal(says, supply) for wrong, says, supply in checks if wrong]


def checks_of(stop: OutOfService) -> list[UUID]:
    """The checks that stand of the unit: one of them may have stopped it."""
    unit = stop.equipment_id
    return [
        *Verification.objects.live().filter(equipment=unit).values_list("pk", flat=True),
        *UpkeepEntry.objects.live().filter(equipment=unit).values_list("pk", flat=True),
        *ResultRead.objects.live().filter(entry__equipment=unit).values_list("pk", flat=True),
    ]
