"""Water, filter and purge logged together: three entries by one form."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from clinic import lock, pins
from clinic.actions.together import log_together
from clinic.answers import gone, kept_under, refusals_in, wants_data
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.forms.together import TogetherForm
from clinic.guessing import place_of
from clinic.models import Site
from clinic.permissions import May
from clinic.reads.together import water_work
from clinic.record import Refused
from clinic.views.equipment import unit_of
from clinic.views.upkeep import recorder, say, work_of


@door(May.DUTY)
def together(request: HttpRequest, site: Site, equipment: UUID) -> HttpResponse:
    unit, me = unit_of(site, equipment), request.allowed.person
    works = water_work(site, unit, request.today)
    lock.hold(request)
    by_pin = pins.people_here(place_of(request).device)
    form = TogetherForm(site, works, me, request.today, by_pin, request.POST or None, request.FILES or None)
    if works and form.is_valid():
        try:
            by = recorder(request, site, form, me)
            logged = log_together([work_of(part) for part in form.parts], by=by)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            for one in logged:
                say(request, one)
            return gone(request, reverse("clinic:log_for_unit", args=[site.code, unit.pk]))
    if request.method == "POST" and wants_data(request):
        return refusals_in(form)
    kept = kept_under(request, site, me, unit.label, "Water, filter and purge")
    return render(request, "clinic/upkeep/together.html", {"form": form, "unit": unit, "works": works, "kept": kept})
