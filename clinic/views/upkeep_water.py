"""Water results, lines and tanks apart; and sterilisers by their spore tests."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from clinic.actions.sterilisers import note_event
from clinic.actions.water import set_bands
from clinic.doors import door, must
from clinic.forms.base import add_refusals
from clinic.forms.sterilisers import SteriliserForm
from clinic.forms.water import BandsForm
from clinic.models import Site
from clinic.permissions import May
from clinic.reads.coolant_bands import bands_of
from clinic.reads.spores import sterilisers
from clinic.reads.water import lines, tanks, water_sentence
from clinic.record import Refused
from clinic.rules.water import FLUSH_SECONDS, LIMIT_NOTE, Edges


@door(May.DUTY, May.READ_SITE)
def water(request: HttpRequest, site: Site) -> HttpResponse:
    found = lines(site, request.today)
    shown = {
        "lines": found,
        "tanks": tanks(site, request.today),
        "sentence": water_sentence(found),
        "note": LIMIT_NOTE,
        "flush": FLUSH_SECONDS,
        "failed": any(one.good is False for one in found),
    }
    return render(request, "clinic/upkeep/water.html", shown)


@door(May.ROSTER)
def bands(request: HttpRequest, site: Site) -> HttpResponse:
    """Which edition of the bands the coolant is judged by from a day on."""
    now = bands_of(site).on(request.today)
    form = BandsForm(request.POST or None, initial={"from_day": request.today} | vars_of(now))
    if form.is_valid():
        try:
            set_bands(site, form.edges, form.cleaned_data["from_day"], by=request.allowed.person, id=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, "The bands are saved. Samples recorded before keep those that were in force.")
            return redirect("clinic:water", site=site.code)
    return render(request, "clinic/upkeep/bands.html", {"form": form, "now": now, "dated": bands_of(site).dated[::-1]})


def vars_of(edges: Edges) -> dict[str, object]:
    return {name: getattr(edges, name) for name in ("edition", "reasonable_from", "poor_from")}


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
    out = [one for one in found if not one.is_usable]
    return render(request, "clinic/upkeep/spores.html", {"form": form, "sterilisers": found, "out": out})
