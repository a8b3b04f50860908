"""The list of chemicals."""

from datetime import date
from uuid import UUID, uuid4

from clinic import clock
from clinic.models import ChemicalGone, ChemicalListed, Person, Site
from clinic.record import Refusal, record, refuse_if


def list_chemical(
    site: Site, product: str, classes: list[str], revision: date, place: str, *, by: Person, id: UUID | None = None
) -> list[str]:
    """A product from today. Returns the hazard classes that were never here before (O-24)."""
    today = clock.today(site.time_zone)
    refuse_if(
        Refusal("The revision is in the future.", "Give the day on the sheet.", "sheet_revision")
        if revision > today
        else None
    )
    known = {
        name
        for row in ChemicalListed.objects.live().filter(site=site).exclude(pk__in=[id] if id else [])
        for name in row.hazard_classes
    }
    row = ChemicalListed(
        id=id or uuid4(),
        site=site,
        happened_on=today,
        product=product,
        hazard_classes=classes,
        sheet_revision=revision,
        place=place,
    )
    record(row, by=by)
    return [name for name in classes if name not in known]


def take_off_list(listed: ChemicalListed, *, by: Person, id: UUID | None = None) -> ChemicalGone:
    row = ChemicalGone(
        id=id or uuid4(), site=listed.site, happened_on=clock.today(listed.site.time_zone), listed=listed
    )
    return record(row, by=by)
