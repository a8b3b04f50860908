"""The list of chemicals: what came, what changed, what went."""

from dataclasses import dataclass
from datetime import date
from uuid import UUID, uuid4, uuid5

from django.db import transaction

from clinic import clock
from clinic.models import ChemicalGone, ChemicalListed, Person, Site
from clinic.reads.chemicals import new_hazards_of
from clinic.record import Refusal, record, refuse_if
from clinic.rules.words import short_day

GONE_ALREADY = Refusal("It is off the list already.", "Put it on the list again if it came back.")


@dataclass(frozen=True, slots=True)
class Chemical:
    """A product as its label and data sheet say it. `since`: the first day it stands there."""

    product: str
    classes: tuple[str, ...]
    revision: date
    place: str
    since: date


def list_chemical(site: Site, chemical: Chemical, *, by: Person, id: UUID | None = None) -> list[str]:
    """A product from its day. Returns the hazard classes that it brings new (29 CFR 1910.1200(h)(1))."""
    refuse_if(*day_refusals(site, chemical), sent=id)
    row = ChemicalListed(
        id=id or uuid4(), site=site, happened_on=chemical.since, product=chemical.product,
        hazard_classes=list(chemical.classes), sheet_revision=chemical.revision, place=chemical.place,
    )  # fmt: skip
    made = record(row, by=by)
    new = new_hazards_of(site, clock.today(site.time_zone))
    return [name for one in new if one.id == str(made.pk) for name in one.classes]


def day_refusals(site: Site, chemical: Chemical) -> list[Refusal | None]:
    today = clock.today(site.time_zone)
    return [
        Refusal("The revision is in the future.", "Give the day on the sheet.", "sheet_revision")
        if chemical.revision > today
        else None,
        Refusal("The day is in the future.", "List it when it is here.", "since") if chemical.since > today else None,
    ]


@transaction.atomic
def change_chemical(listed: ChemicalListed, chemical: Chemical, *, by: Person, id: UUID | None = None) -> list[str]:
    """From its day the product stands there with other words: the old line ends, and a new one begins."""
    earlier = ChemicalListed.objects.filter(pk=id).exists() if id else False
    refuse_if(
        Refusal(
            "The change is before the line that it changes.",
            f"Choose {short_day(listed.happened_on)} or later.",
            "since",
        )
        if chemical.since < listed.happened_on
        else None,
        GONE_ALREADY if not earlier and is_gone(listed) else None,
        *day_refusals(listed.site, chemical),
    )
    if not earlier:
        take_off_list(listed, by=by, day=chemical.since, id=uuid5(id, "gone") if id else None)
    return list_chemical(listed.site, chemical, by=by, id=id)


def take_off_list(
    listed: ChemicalListed, *, by: Person, day: date | None = None, id: UUID | None = None
) -> ChemicalGone:
    """From the day it is not here any more. It stays in the record. A second arrival finds the first."""
    earlier = ChemicalGone.objects.filter(pk=id, listed=listed).first() if id else None
    if earlier is not None:
        return earlier
    today = clock.today(listed.site.time_zone)
    gone = day or today
    refuse_if(
        GONE_ALREADY if is_gone(listed) else None,
        Refusal("The day is in the future.", "Say it when it is gone.", "day") if gone > today else None,
        Refusal("It was not here yet.", f"Choose {short_day(listed.happened_on)} or later.", "day")
        if gone < listed.happened_on
        else None,
    )
    return record(ChemicalGone(id=id or uuid4(), site=listed.site, happened_on=gone, listed=listed), by=by)


def is_gone(listed: ChemicalListed) -> bool:
    return ChemicalGone.objects.live().filter(listed=listed).exists()
