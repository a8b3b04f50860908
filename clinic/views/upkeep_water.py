"""Water results, lines and tanks apart; and sterilisers by their spore tests."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from clinic.actions.sterilisers import note_event
from clinic.doors import door, must
from clinic.forms.base import add_refusals
from clinic.forms.sterilisers import SteriliserForm
from clinic.models import Site
from clinic.permissions import May
from clinic.reads.spores import sterilisers
from clinic.reads.water import lines, tanks, water_sentence
from clinic.record import Refused
from clinic.rules.water import LIMIT_NOTE


@door(May.DUTY, May.READ_SITE)
def water(request: HttpRequest, site: Site) -> HttpResponse:
    found = lines(site, request.today)
    shown = {"lines": found, "tanks": tanks(site, request.today), "sentence": water_sentence(found), "note": LIMIT_NOTE}
    return render(request, "clinic/upkeep/water.html", shown)


@door(May.DUTY, May.READ_SITE)
def spore_tests(request: HttpRequest, site: Site) -> HttpResponse:
    form = SteriliserForm(site, request.POST or None)
    if request.method == "POST":
        must(request, May.DUTY)
    if form.is_valid():
        values = form.cleaned_data
        try:
            note_event(
                values["equipment"],
                values["what"],
                site=site,
                by=request.allowed.person,
                entry=values["entry"],
                id=form.fact_id,
            )
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"Recorded for {values['equipment']}.")
            return redirect("clinic:spore_tests", site=site.code)
    found = sterilisers(site, request.today)
    out = [one for one in found if not one.status.state.is_usable]
    return render(request, "clinic/upkeep/spores.html", {"form": form, "sterilisers": found, "out": out})
