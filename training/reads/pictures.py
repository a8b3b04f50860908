"""Photos beside steps and site facts, as they stand at a unit. The pictures themselves stay where they are."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.urls import reverse

from clinic.models import Equipment, Site
from clinic.rules.site_text import names_in
from training.models import PlacePhoto
from training.rules.texts import Step

Subject = tuple[str, str, str]  # name of the site fact, or code and key of the step


@dataclass(frozen=True, slots=True)
class Photo:
    """One that is shown. `of`: the unit that it was taken at; None for the site."""

    id: UUID
    address: str
    says: str
    of: UUID | None


@dataclass(frozen=True, slots=True)
class Photos:
    """What stands at one unit, by what it stands beside."""

    found: Mapping[Subject, Photo]

    def of_step(self, code: str, step: Step) -> tuple[Photo, ...]:
        """Its own first, then those of the site facts that it names, each once."""
        names = [name for words in (step.when, step.do, step.caution) for name in names_in(words)]
        subjects = [("", code, step.key), *((name, "", "") for name in names)]
        return tuple({photo.id: photo for each in subjects if (photo := self.found.get(each))}.values())


NONE = Photos({})


def newest_at(site: Site) -> dict[tuple[Subject, UUID | None], Photo]:
    """The newest that stands of each, by unit; one query."""
    rows = PlacePhoto.objects.live().filter(site=site).in_order()
    columns = ("pk", "site_fact__name", "procedure__code", "step", "equipment", "says")
    found: dict[tuple[Subject, UUID | None], Photo] = {}
    for pk, fact, code, step, unit, says in rows.values_list(*columns):
        address = reverse("training:place_photo", args=[site.code, pk])
        found[(fact or "", code or "", step), unit] = Photo(pk, address, says, unit)
    return found


def photos_at(site: Site, unit: Equipment | None) -> Photos:
    """For each the nearest: the unit’s own, then that of what belongs to it or what it belongs to, then the site’s."""
    every = newest_at(site)
    if not every:
        return NONE
    order: list[Any] = [None]
    if unit:
        parts = Equipment.objects.filter(part_of=unit).order_by("pk").values_list("pk", flat=True)
        order = [unit.pk, *([unit.part_of_id] if unit.part_of_id else []), *parts, None]
    found: dict[Subject, Photo] = {}
    for place in order:
        for (subject, where), photo in every.items():
            if where == place:
                found.setdefault(subject, photo)
    return Photos(found)


def picture_of(photo: Photo) -> bytes:
    return bytes(PlacePhoto.objects.values_list("picture", flat=True).get(pk=photo.id))
