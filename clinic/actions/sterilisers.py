"""What happens to a steriliser between spore tests, and the release of its loads."""

from uuid import UUID, uuid4

from clinic import clock
from clinic.actions.upkeep import is_out_of_service, spore_refusals
from clinic.models import Equipment, LoadReleased, Person, Site, SteriliserEvent, UpkeepEntry
from clinic.record import Refusal, record, refuse_if
from clinic.rules.spores import Monitors, load_refusals


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
        sent=id,
    )
    row = SteriliserEvent(
        id=id or uuid4(), site=site, happened_on=clock.today(site.time_zone), equipment=unit, what=what, entry=entry
    )
    return record(row, by=by)


NOT_RELEASED = "Nothing of this load is used: reprocess it, and find out why."


def release_load(
    unit: Equipment, load: str, monitors: Monitors, *, site: Site, by: Person, id: UUID | None = None
) -> LoadReleased:
    """A load that may be used, today. Refused without its monitors (W-17), while its steriliser is out of service, and
    while its spore tests say that nothing is released (W-18)."""
    today = clock.today(site.time_zone)
    refuse_if(
        Refusal("This unit is not at this site.", "Choose a unit of this site.") if unit.site_id != site.pk else None,
        Refusal("This is no steriliser.", "Choose a steriliser.") if unit.kind != "steriliser" else None,
        Refusal("Which load was it?", "Write its number, as on the printout.", "load") if not load.strip() else None,
        *(Refusal(says, NOT_RELEASED, name) for name, says in load_refusals(monitors).items()),
        Refusal(f"{unit} is out of service.", NOT_RELEASED) if is_out_of_service(unit) else None,
        *spore_refusals(unit, today),
        sent=id,
    )
    row = LoadReleased(
        id=id or uuid4(), site=site, happened_on=today, equipment=unit, load=load.strip(),
        by_outside=not monitors.inside_visible,
    )  # fmt: skip
    return record(row, by=by)
