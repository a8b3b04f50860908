"""What water is judged by: the bands of coolant, the makers' limits of lines, and what was changed at a line."""

from datetime import date
from uuid import UUID, uuid4, uuid5

from django.db import transaction

from clinic import clock
from clinic.actions.upkeep import unit_refusals
from clinic.models import CoolantBands, Equipment, Person, Site, SiteFact, SiteFactValue, UnitChanged, WaterLimit
from clinic.reads.closer import KIND
from clinic.reads.water_limits import FACT
from clinic.record import Refusal, record, refuse_if
from clinic.rules.water import Edges
from clinic.rules.words import short_day


def set_bands(site: Site, edges: Edges, from_day: date, *, by: Person, id: UUID | None = None) -> CoolantBands:
    """Samples of that day and later are judged by these edges, and those already recorded by the ones known then."""
    refuse_if(
        Refusal("It is before the register started.", f"Choose {short_day(site.register_start)} or later.", "from_day")
        if from_day < site.register_start
        else None,
    )
    row = CoolantBands(
        id=id or uuid4(), site=site, happened_on=from_day, edition=edges.edition, reasonable_from=edges.reasonable_from,
        poor_from=edges.poor_from,
    )  # fmt: skip
    return record(row, by=by)


UNIT = "CFU/mL"  # the only one that a limit of treatment water is given in here
LIMITED = (KIND, "dental unit")
MOST = 1_000_000


@transaction.atomic
def set_limit(
    site: Site, place: Equipment | None, number: int | None, source: str, from_day: date, *, by: Person, id: UUID | None = None
) -> WaterLimit:  # fmt: skip
    """The maker's limit of a line, of a dental unit and its lines, or of all; None: the maker gives none.

    Samples recorded before keep the limit that was known then. The sentence of the walk round is answered with it.
    """
    refuse_if(
        Refusal("This is no water line and no dental unit.", "Choose one of them, or every line.", "equipment")
        if place is not None and (place.site_id != site.pk or place.kind not in LIMITED)
        else None,
        Refusal("A limit lies between 1 and a million.", "Write the maker’s figure, or leave it empty.", "number")
        if number is not None and not 1 <= number <= MOST
        else None,
        Refusal("Say where the maker gives it.", "Name the instructions, title and page.", "source")
        if not source.strip()
        else None,
        Refusal("That day has not come.", "Choose today or earlier.", "from_day")
        if from_day > clock.today(site.time_zone)
        else None,
    )
    row = WaterLimit(
        id=id or uuid4(),
        site=site,
        happened_on=from_day,
        equipment=place,
        number=number,
        unit=UNIT,
        source=source.strip(),
    )
    row = record(row, by=by)
    answer_with(row, by)
    return row


def answer_with(row: WaterLimit, by: Person) -> None:
    """The site fact in whose place it stands in sentences, where the library asks for it."""
    fact = SiteFact.objects.filter(name=FACT).first()
    if fact is None:
        return
    says = f"{row.number:,} {row.unit}" if row.number else f"500 {row.unit}, for its maker gives none"
    value = SiteFactValue(
        id=uuid5(row.pk, FACT), site=row.site, happened_on=row.happened_on, site_fact=fact, equipment=row.equipment,
        value=says,
    )  # fmt: skip
    record(value, by=by)


def note_change_of(line: Equipment, what: str, day: date, *, by: Person, id: UUID | None = None) -> UnitChanged:
    """From that day the line is sampled more often, until two passes in a row."""
    refuse_if(
        *unit_refusals(line, line.site, day),
        Refusal("This is no water line.", "Choose a line.") if line.kind != KIND else None,
        Refusal("Say what was changed.", "Such as: new tubing.", "what") if not what.strip() else None,
        sent=id,
    )
    return record(
        UnitChanged(id=id or uuid4(), site=line.site, happened_on=day, equipment=line, what=what.strip()), by=by
    )
