"""Papers for the wall and the drawer, as PDF: wall card, label of a unit (blank checklists: `training.views.sheets`)."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse

from clinic.doors import door
from clinic.models import Equipment, Site
from clinic.network import for_others
from clinic.permissions import May
from training.documents import slips
from training.documents import wall_card as cards
from training.models import Procedure
from training.reads import papers
from training.reads.procedures import units_of

NOTHING_TO_PRINT = (
    "Nothing to print: a wall card and a checklist are made of the steps in force today. Put a version with steps in force "
    "first; a taught topic has none."
)


@door(May.OWN_RECORD, May.READ_SITE)
def wall_card(request: HttpRequest, site: Site, code: str) -> HttpResponse:
    """`?unit=` names the unit whose words it shows."""
    here = version_asked(request, site, code)
    if here is None:
        return nothing(request, site, code)
    try:
        card = cards.build(papers.wall_card(here), pictures=papers.wall_pictures(here))
    except cards.TooLong as refused:
        messages.error(request, str(refused))
        return redirect("training:procedure", site=site.code, code=code)
    return pdf(card, f"wall-card-{code}")


@door(May.DUTY, May.READ_SITE)
def wall_label(request: HttpRequest, site: Site, equipment: UUID) -> HttpResponse:
    unit = get_object_or_404(Equipment.objects.filter(site=site).select_related("site"), pk=equipment)
    page = reverse("clinic:log_for_unit", kwargs={"site": site.code, "equipment": unit.pk})
    return pdf(slips.build_label(papers.wall_label(unit, for_others(request, page)[0])), f"label-{unit.pk}")


def version_asked(request: HttpRequest, site: Site, code: str) -> papers.VersionHere | None:
    procedure = get_object_or_404(Procedure.objects.of(site.organisation), code=code)
    asked = request.GET.get("unit", "")
    unit = next((unit for unit in units_of(site, request.today) if str(unit.pk) == asked), None)
    return papers.version_here(procedure, site, request.today, unit)


def nothing(request: HttpRequest, site: Site, code: str) -> HttpResponse:
    messages.error(request, NOTHING_TO_PRINT)
    return redirect("training:procedure", site=site.code, code=code)


def pdf(made: bytes, name: str) -> HttpResponse:
    headers = {"Content-Disposition": f'inline; filename="{name}.pdf"'}
    return HttpResponse(made, content_type="application/pdf", headers=headers)
