"""Lots of blocks with the factor of their packet."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from clinic.actions.blocks import enter_factor, enter_lot
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.forms.blocks import FactorForm, LotForm
from clinic.models import BlockLot, FactorEntered, Site
from clinic.permissions import May
from clinic.record import Refused


@door(May.DUTY)
def lots(request: HttpRequest, site: Site) -> HttpResponse:
    """The factor typed in for a job is held against that of its lot."""
    form = FactorForm(site, request.POST or None)
    if form.is_valid():
        lot = form.cleaned_data["lot"]
        warnings = enter_factor(lot, form.cleaned_data["factor"], by=request.allowed.person, id=form.fact_id)
        for warning in warnings:
            messages.warning(request, warning)
        if not warnings:
            messages.success(request, f"The factor is that of lot {lot.lot}.")
        return redirect("clinic:lots", site=site.code)
    entered = FactorEntered.objects.live().filter(site=site).select_related("lot").order_by("-recorded_at")[:20]
    shown = {"form": form, "lots": BlockLot.objects.filter(site=site)[:60], "entered": entered}
    return render(request, "clinic/equipment/lots.html", shown)


@door(May.DUTY)
def new_lot(request: HttpRequest, site: Site) -> HttpResponse:
    form = LotForm(request.POST or None, initial={"received_on": request.today})
    if form.is_valid():
        try:
            made = enter_lot(BlockLot(site=site, **form.cleaned_data), by=request.allowed.person)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"Lot {made.lot} is entered.")
            return redirect("clinic:lots", site=site.code)
    return render(request, "clinic/equipment/new_lot.html", {"form": form})
