"""What sits where for which material, what the next job needs that is not there, and the swaps to it one at a time."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from clinic.actions.jobs import want_in_set
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.forms.jobs import SetForm, SetLineForm
from clinic.models import SetLine, Site
from clinic.permissions import May
from clinic.reads.jobs import jobs_of
from clinic.reads.tool_sets import set_now
from clinic.record import Refused
from clinic.rules.tools import Material
from clinic.views.equipment import unit_of


@door(May.DUTY, May.READ_SITE)
def tool_set(request: HttpRequest, site: Site, equipment: UUID) -> HttpResponse:
    """For the material in the address; without one, for that of the last job."""
    unit = unit_of(site, equipment)
    last = jobs_of(site, unit).first()
    start = {"material": last.lot.material, "way": "wet" if last.wet else "dry"} if last else {"material": Material.ZIRCONIA.value, "way": "dry"}  # fmt: skip
    form = SetForm(request.GET if "material" in request.GET else start)
    key = (form.cleaned_data["material"], form.cleaned_data["way"]) if form.is_valid() else (start["material"], start["way"])  # fmt: skip
    shown = {
        "unit": unit,
        "form": form,
        "material": key[0],
        "way": key[1],
        "it": set_now(site, unit, key, request.today),
    }
    return render(request, "clinic/jobs/set.html", shown)


@door(May.ROSTER)
def set_lines(request: HttpRequest, site: Site, equipment: UUID) -> HttpResponse:
    """What the site wants in each position."""
    unit = unit_of(site, equipment)
    form = SetLineForm(unit, request.POST or None, initial={"day": request.today})
    if form.is_valid():
        said = {name: value for name, value in form.cleaned_data.items() if name not in ("submission", "day")}
        try:
            want_in_set(unit, form.cleaned_data["day"], by=request.allowed.person, id=form.fact_id, **said)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, "The line is saved.")
            return redirect("clinic:set_lines", site=site.code, equipment=unit.pk)
    rows = SetLine.objects.live().filter(equipment=unit).order_by("-happened_on", "-recorded_at")
    return render(request, "clinic/jobs/set_lines.html", {"form": form, "unit": unit, "rows": rows})
