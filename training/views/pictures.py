"""Photos of this place, beside a step or a site fact."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from clinic import lock
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.models import Equipment, Site, SiteFact
from clinic.permissions import May
from clinic.photos import TYPE
from clinic.record import Refused
from clinic.rules.site_text import by_name
from clinic.rules.words import begun
from training.actions.pictures import ShownPicture, keep_photo
from training.forms.pictures import ANYWHERE, PlacePhotoForm
from training.models import PlacePhoto, Procedure, Version
from training.reads.procedures import units_of
from training.reads.walk import SITE


@dataclass(frozen=True, slots=True)
class PicturePlace:
    """What the photo will stand beside, and where its page leads back to."""

    title: str
    back: str
    back_words: str
    fact: SiteFact | None = None
    procedure: Procedure | None = None


@door(May.OWN_RECORD, May.READ_SITE)
def photo(request: HttpRequest, site: Site, place_photo: UUID) -> HttpResponse:
    """As the register keeps it: never what was sent."""
    found = get_object_or_404(PlacePhoto, pk=place_photo, site=site)
    named = {"Content-Disposition": f'inline; filename="place-{found.pk}.jpg"'}
    return HttpResponse(bytes(found.picture), content_type=TYPE, headers=named)


@door(May.ROSTER, May.SIGN)
def beside_fact(request: HttpRequest, site: Site) -> HttpResponse:
    """`?fact=` names the site fact, `?unit=` the unit that is chosen already."""
    asked = request.GET.get("fact", "")
    fact = SiteFact.objects.filter(pk=asked).first() if asked.isdecimal() else None
    if fact is None:
        messages.error(request, "No photo is asked for: choose what it shows among the questions of the walk round.")
        return redirect("training:walk", site=site.code)
    units = [] if fact.of == SITE else list(units_of(site, request.today, fact.of))
    back = f"{reverse('training:walk_answer', args=[site.code])}?question={fact.question}"
    return page(request, site, PicturePlace(begun(fact.name), back, "Walk round", fact=fact), units, [])


@door(May.ROSTER, May.SIGN)
def beside_step(request: HttpRequest, site: Site, code: str) -> HttpResponse:
    """Of the version in force. `?unit=` names the unit that is chosen already."""
    row = get_object_or_404(Procedure.objects.of(site.organisation), code=code)
    version = Version.objects.live().in_force(request.today).filter(procedure=row).first()
    if version is None or not version.text.steps:
        messages.error(
            request, "A photo stands beside a step: put a version with steps in force first; a topic has none."
        )
        return redirect("training:procedure", site=site.code, code=code)
    steps = [(step.key, f"{n}. {by_name(step.do)}") for n, step in enumerate(version.text.steps, start=1)]
    back = reverse("training:procedure", args=[site.code, code])
    units = list(units_of(site, request.today, row.equipment_kind))
    return page(request, site, PicturePlace(row.title, back, str(row), procedure=row), units, steps)


def page(
    request: HttpRequest, site: Site, beside: PicturePlace, units: list[Equipment], steps: list[tuple[str, str]]
) -> HttpResponse:
    choices = [(ANYWHERE, f"{site.name}, whichever unit"), *((str(unit.pk), unit.label) for unit in units)]
    form = PlacePhotoForm(choices, steps, request.POST or None, request.FILES or None, initial=chosen(request))
    lock.hold(request)
    if form.is_valid() and kept(request, site, beside, units, form):
        return redirect(beside.back)
    return render(request, "training/walk/photo.html", {"form": form, "beside": beside})


def chosen(request: HttpRequest) -> dict[str, Any]:
    return {"unit": request.GET.get("unit", ""), "step": request.GET.get("step", "")}


def kept(request: HttpRequest, site: Site, beside: PicturePlace, units: list[Equipment], form: PlacePhotoForm) -> bool:
    said = form.cleaned_data
    unit = next((unit for unit in units if str(unit.pk) == said["unit"]), None)
    shown = ShownPicture(said["photo"], said["says"], beside.fact, beside.procedure, said.get("step", ""), unit)
    try:
        keep_photo(shown, site=site, by=request.allowed.person, id=form.fact_id)
    except Refused as refused:
        add_refusals(form, refused)
        return False
    messages.success(
        request, "The photo is kept. It stands beside the step on the study page, at the bench and on the card."
    )
    return True
