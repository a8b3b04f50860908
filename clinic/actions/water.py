"""The bands by which a site judges the coolant of its mills."""

from datetime import date
from uuid import UUID, uuid4

from clinic.models import CoolantBands, Person, Site
from clinic.record import Refusal, record, refuse_if
from clinic.rules.water import Edges


def set_bands(site: Site, edges: Edges, from_day: date, *, by: Person, id: UUID | None = None) -> CoolantBands:
    """Samples of that day and later are judged by these edges, and those already recorded by the ones known then."""
    refuse_if(
        Refusal("It is before the register started.", f"Choose {site.register_start:%-d %b %Y} or later.", "from_day")
        if from_day < site.register_start
        else None,
    )
    row = CoolantBands(
        id=id or uuid4(), site=site, happened_on=from_day, edition=edges.edition, reasonable_from=edges.reasonable_from,
        poor_from=edges.poor_from,
    )  # fmt: skip
    return record(row, by=by)
