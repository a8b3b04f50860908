"""Lots of blocks with the factor of their packet, and the list of chemicals."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from clinic.actions.blocks import enter_factor, enter_lot
from clinic.actions.chemicals import list_chemical, take_off_list
from clinic.doors import door, must
from clinic.forms.base import add_refusals
from clinic.forms.blocks import ChemicalForm, FactorForm, GoneForm, LotForm
from clinic.models import BlockLot, ChemicalGone, ChemicalListed, FactorEntered, Site
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
    form = LotForm(site, request.POST or None, initial={"received_on": request.today})
    if form.is_valid():
        made = enter_lot(BlockLot(site=site, **form.cleaned_data), by=request.allowed.person)
        messages.success(request, f"Lot {made.lot} is entered.")
        return redirect("clinic:lots", site=site.code)
    return render(request, "clinic/equipment/new_lot.html", {"form": form})


@door(May.DUTY, May.READ_SITE)
def chemicals(request: HttpRequest, site: Site) -> HttpResponse:
    """The list of today. A product leaves it by its own button."""
    gone = ChemicalGone.objects.live().filter(site=site).values("listed")
    rows = ChemicalListed.objects.live().filter(site=site).exclude(pk__in=gone).order_by("product", "pk")
    form = GoneForm(rows, request.POST or None)
    if request.method == "POST":
        must(request, May.ROSTER)
    if form.is_valid():
        row = form.cleaned_data["listed"]
        take_off_list(row, by=request.allowed.person)
        messages.success(request, f"{row.product} is off the list.")
        return redirect("clinic:chemicals", site=site.code)
    return render(request, "clinic/equipment/chemicals.html", {"rows": rows, "form": form})


@door(May.ROSTER)
def new_chemical(request: HttpRequest, site: Site) -> HttpResponse:
    form = ChemicalForm(request.POST or None)
    if form.is_valid():
        said = form.cleaned_data
        try:
            new = list_chemical(
                site,
                said["product"],
                said["hazard_classes"],
                said["sheet_revision"],
                said["place"],
                by=request.allowed.person,
                id=form.fact_id,
            )
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"{said['product']} is on the list.")
            if new:
                messages.warning(
                    request,
                    f"New here: {', '.join(new)}. Teach hazard communication about it before anybody works with it (O-24).",
                )
            return redirect("clinic:chemicals", site=site.code)
    return render(request, "clinic/equipment/new_chemical.html", {"form": form})
