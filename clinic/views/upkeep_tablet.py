"""A tablet is fixed to its bench, or freed again."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from clinic.doors import door
from clinic.forms.tablet import TabletForm
from clinic.models import Site
from clinic.permissions import May
from clinic.tablet import fix, free, unit_of_tablet


@door(May.DUTY)
def tablet(request: HttpRequest, site: Site) -> HttpResponse:
    """Which unit this tablet stands at. Kept on the tablet, not in the register."""
    if "free" in request.POST:
        messages.success(request, "This tablet is at no unit any more.")
        return free(redirect("clinic:upkeep", site=site.code))
    form = TabletForm(site, request.today, request.POST or None, initial={"equipment": unit_of_tablet(request, site)})
    if form.is_valid():
        unit = form.cleaned_data["equipment"]
        messages.success(
            request, f"This tablet is at {unit.label}. It is chosen already when somebody logs, observes or swaps here."
        )
        return fix(redirect("clinic:log_for_unit", site=site.code, equipment=unit.pk), unit)
    return render(request, "clinic/upkeep/tablet_form.html", {"form": form})
