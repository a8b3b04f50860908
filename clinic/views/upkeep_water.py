"""Water results, lines and tanks apart; and sterilisers by their spore tests."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from clinic.actions.sterilisers import note_event, release_load
from clinic.actions.water import note_change_of, set_bands, set_limit
from clinic.doors import door, must
from clinic.forms.base import add_refusals
from clinic.forms.sterilisers import LoadForm, SteriliserForm
from clinic.forms.water import BandsForm, ChangedForm, LimitForm
from clinic.models import Equipment, LoadReleased, Site, WaterLimit
from clinic.permissions import May
from clinic.reads.coolant_bands import bands_of
from clinic.reads.follow_ups import open_follow_ups
from clinic.reads.spores import sterilisers
from clinic.reads.water import lines, tanks, water_head
from clinic.record import Refused
from clinic.rules.water import FLUSH_SECONDS, LIMIT_NOTE, Edges

SHOWN = 5  # results of each line and tank


@door(May.DUTY, May.READ_SITE)
def water(request: HttpRequest, site: Site) -> HttpResponse:
    waiting = open_follow_ups(site)
    found = lines(site, request.today, waiting, SHOWN)
    shown = {
        "lines": found,
        "tanks": tanks(site, request.today, waiting, SHOWN),
        "head": water_head(found),
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


@door(May.ROSTER)
def water_limit(request: HttpRequest, site: Site) -> HttpResponse:
    """The maker's limit of a line, from a day: number, unit and source typed apart."""
    initial = {"from_day": request.today, "equipment": request.GET.get("unit")}
    form = LimitForm(site, request.POST or None, initial=initial)
    if form.is_valid():
        said = form.cleaned_data
        try:
            set_limit(
                site, said["equipment"], said["number"], said["source"], said["from_day"], by=request.allowed.person,
                id=form.fact_id,
            )  # fmt: skip
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, "The limit is saved. Samples recorded before keep the one that was known then.")
            return redirect("clinic:water", site=site.code)
    rows = WaterLimit.objects.live().filter(site=site).in_order().select_related("equipment")
    return render(request, "clinic/upkeep/limit.html", {"form": form, "dated": list(rows)[::-1]})


@door(May.DUTY)
def changed(request: HttpRequest, site: Site, equipment: UUID) -> HttpResponse:
    """A water line was changed: it is sampled more often until two passes in a row."""
    line = get_object_or_404(Equipment.objects.select_related("site"), pk=equipment, site=site)
    form = ChangedForm(request.POST or None, initial={"day": request.today})
    if form.is_valid():
        said = form.cleaned_data
        try:
            note_change_of(line, said["what"], said["day"], by=request.allowed.person, id=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"Recorded. {line} is sampled more often until two passes in a row.")
            return redirect("clinic:water", site=site.code)
    return render(request, "clinic/upkeep/changed.html", {"form": form, "line": line})


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


@door(May.DUTY)
def load(request: HttpRequest, site: Site, equipment: UUID) -> HttpResponse:
    """Release a load by its monitors; those released before, newest first."""
    unit = get_object_or_404(Equipment.objects.select_related("site"), pk=equipment, site=site, kind="steriliser")
    form = LoadForm(request.POST or None)
    if form.is_valid():
        try:
            release_load(
                unit, form.cleaned_data["load"], form.monitors, site=site, by=request.allowed.person, id=form.fact_id
            )
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"Load {form.cleaned_data['load']} may be used.")
            return redirect("clinic:load", site=site.code, equipment=unit.pk)
    rows = LoadReleased.objects.live().filter(equipment=unit).select_related("recorded_by").in_order()
    return render(request, "clinic/upkeep/load.html", {"form": form, "unit": unit, "loads": rows.reverse()[:20]})
