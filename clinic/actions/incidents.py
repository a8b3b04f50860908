"""Events are filed and looked at. Nothing here reads or changes anybody's standing."""

from collections.abc import Sequence
from datetime import date
from typing import Any
from uuid import UUID, uuid4

from clinic import clock
from clinic.models import Incident, IncidentReview, Person, Site
from clinic.record import Refusal, record, refuse_if


def file_near_miss(site: Site, place: str, how: str, *, id: UUID | None = None) -> Incident:
    """Today, and without a name: whoever files it is not kept."""
    row = Incident(
        id=id or uuid4(),
        site=site,
        happened_on=clock.today(site.time_zone),
        kind=Incident.Kind.NEAR_MISS,
        place=place,
        how=how,
    )
    return record(row, by=None)


def file_event(site: Site, day: date, *, by: Person, id: UUID | None = None, **said: Any) -> Incident:
    """An injury or an event, as its form says it."""
    refuse_if(
        Refusal("The day is in the future.", "Give the day on which it happened.", "day")
        if day > clock.today(site.time_zone)
        else None,
        Refusal("This unit is not at this site.", "Choose a unit of this site.", "equipment")
        if said.get("equipment") and said["equipment"].site_id != site.pk
        else None,
        sent=id,
    )
    return record(Incident(id=id or uuid4(), site=site, happened_on=day, **said), by=by)


def review(
    incident: Incident, looked_at: str, changed: str, *, by: Person, causes: Sequence[str] = (), id: UUID | None = None
) -> IncidentReview:
    """A look at the procedure and the place, with what it came from."""
    row = IncidentReview(
        id=id or uuid4(), site=incident.site, happened_on=clock.today(incident.site.time_zone), incident=incident,
        looked_at=looked_at, changed=changed, causes=list(causes),
    )  # fmt: skip
    return record(row, by=by)
