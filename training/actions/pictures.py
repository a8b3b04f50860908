"""Putting a photo of this place beside a site fact, or beside a step."""

from dataclasses import dataclass, field
from uuid import UUID

from clinic import clock
from clinic.models import Equipment, Person, Site, SiteFact
from clinic.record import Refusal, record, refuse_if
from training.models import PlacePhoto, Procedure, Version


@dataclass(frozen=True, slots=True)
class ShownPicture:
    """Beside a site fact, or beside the step with that key. `picture`: a JPEG made by `clinic.photos`, covered already."""

    picture: bytes = field(repr=False)
    says: str
    fact: SiteFact | None = None
    procedure: Procedure | None = None
    step: str = ""
    unit: Equipment | None = None


def keep_photo(shown: ShownPicture, *, site: Site, by: Person, id: UUID) -> PlacePhoto:
    """The newest is shown; the earlier ones stay in the record."""
    refuse_if(
        Refusal("There is no photo.", "Take one, or choose a file.", "photo") if not shown.picture else None,
        Refusal("What it shows is not said.", "Write a few words, for whoever does not see it.", "says")
        if not shown.says.strip()
        else None,
        Refusal("This step stands in no version.", "Choose one of the steps.", "step") if is_no_step(shown) else None,
        Refusal("This unit is not of the site.", "Choose one of the site’s units.", "unit")
        if shown.unit and shown.unit.site_id != site.pk
        else None,
    )
    known = PlacePhoto.objects.filter(pk=id).first()  # sent again on a later day, it is the same
    row = PlacePhoto(
        id=id, site=site, happened_on=known.happened_on if known else clock.today(site.time_zone),
        site_fact=shown.fact, procedure=shown.procedure, step=shown.step, equipment=shown.unit, says=shown.says.strip(),
        picture=shown.picture,
    )  # fmt: skip
    return record(row, by=by)


def is_no_step(shown: ShownPicture) -> bool:
    if shown.procedure is None:
        return False
    versions = Version.objects.live().filter(procedure=shown.procedure)
    return not any(step.key == shown.step for version in versions for step in version.text.steps)
