"""What happens to a steriliser between spore tests."""

from uuid import UUID, uuid4

from clinic import clock
from clinic.models import Equipment, Person, Site, SteriliserEvent, UpkeepEntry
from clinic.record import Refusal, record, refuse_if


def note_event(
    unit: Equipment, what: str, *, site: Site, by: Person, entry: UpkeepEntry | None = None, id: UUID | None = None
) -> SteriliserEvent:
    """Repaired, recall finished, or the chamber was empty for a test. Happens today."""
    refuse_if(
        Refusal("This unit is not at this site.", "Choose a unit of this site.") if unit.site_id != site.pk else None,
        Refusal("This is no steriliser.", "Choose a steriliser.") if unit.kind != "steriliser" else None,
        Refusal("Which test had an empty chamber?", "Choose the test.")
        if what == SteriliserEvent.What.EMPTY and entry is None
        else None,
        Refusal("That test was of another steriliser.", "Choose a test of this one.")
        if entry is not None and entry.equipment_id != unit.pk
        else None,
    )
    row = SteriliserEvent(
        id=id or uuid4(), site=site, happened_on=clock.today(site.time_zone), equipment=unit, what=what, entry=entry
    )
    return record(row, by=by)
