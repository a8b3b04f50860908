"""Units: the list, the page of one, entering and changing them, and what the register took over."""

from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from clinic.actions.equipment import change_unit
from clinic.actions.people import enter_equipment
from clinic.actions.upkeep import close_site, opening_reading, set_interval
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.forms.equipment import ClosureForm, IntervalForm, OpeningForm, UnitForm
from clinic.models import Equipment, Site
from clinic.permissions import May
from clinic.reads.consequences import closing_falls
from clinic.reads.entries import entries_of, said
from clinic.reads.intervals import closures_of, intervals_of
from clinic.reads.unit import unit_page
from clinic.reads.upkeep import everything
from clinic.record import Refused
from clinic.rules.upkeep_facts import DAY

ENTRIES_A_PAGE = 20


def unit_of(site: Site, key: UUID) -> Equipment:
    """The unit, if it is this site's; otherwise it does not exist."""
    return get_object_or_404(Equipment.objects.select_related("part_of", "site"), pk=key, site=site)


@door(May.DUTY, May.READ_SITE)
def equipment(request: HttpRequest, site: Site) -> HttpResponse:
    """Every unit the site ever had, those no longer in service last."""
    units = sorted(
        everything(site),
        key=lambda unit: (unit.in_service_to is not None and unit.in_service_to < request.today, unit.kind, unit.label),
    )
    page = Paginator(units, 50).get_page(request.GET.get("page"))
    return render(
        request, "clinic/equipment/list.html", {"page": page, "may_change": request.allowed.may(May.ROSTER, site)}
    )


@door(May.DUTY, May.READ_SITE)
def unit(request: HttpRequest, site: Site, equipment: UUID) -> HttpResponse:
    found = unit_of(site, equipment)
    page = Paginator(entries_of(site).filter(equipment=found), ENTRIES_A_PAGE).get_page(request.GET.get("page"))
    shown = {
        "page": page,
        "entries": said(site.organisation, page.object_list),
        "unit": found,
        "may_change": request.allowed.may(May.ROSTER, site),
    }
    return render(request, "clinic/equipment/unit.html", shown | {"it": unit_page(site, found, request.today)})


@door(May.ROSTER)
def new_unit(request: HttpRequest, site: Site) -> HttpResponse:
    form = UnitForm(site, None, request.POST or None, initial={"in_service_from": request.today})
    if form.is_valid():
        try:
            made = enter_equipment(Equipment(site=site, **form.cleaned_data), by=request.allowed.person)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"{made.label} is entered. Its tasks are on the due list.")
            return redirect("clinic:unit", site=site.code, equipment=made.pk)
    return render(request, "clinic/equipment/form.html", {"form": form, "unit": None})


@door(May.ROSTER)
def change(request: HttpRequest, site: Site, equipment: UUID) -> HttpResponse:
    found = unit_of(site, equipment)
    before = {name: getattr(found, name) for name in ("label", "serial", "part_of", "in_service_from", "in_service_to")}
    form = UnitForm(site, found, request.POST or None, initial=before)
    if form.is_valid():
        try:
            change_unit(found, by=request.allowed.person, **form.cleaned_data)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"{found.label} is saved.")
            return redirect("clinic:unit", site=site.code, equipment=found.pk)
    return render(request, "clinic/equipment/form.html", {"form": form, "unit": unit_of(site, equipment)})


@door(May.ROSTER)
def opening(request: HttpRequest, site: Site, equipment: UUID) -> HttpResponse:
    found = unit_of(site, equipment)
    form = OpeningForm(found, request.POST or None)
    if form.is_valid():
        try:
            values = form.cleaned_data
            opening_reading(
                found,
                values["task"],
                values["last_done"],
                by=request.allowed.person,
                units=values["units"],
                id=form.fact_id,
            )
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"The opening reading of {values['task'].title} is recorded.")
            return redirect("clinic:unit", site=site.code, equipment=found.pk)
    return render(request, "clinic/equipment/opening.html", {"form": form, "unit": found})


@door(May.ROSTER)
def intervals(request: HttpRequest, site: Site) -> HttpResponse:
    form = IntervalForm(request.POST or None, initial={"from_day": request.today})
    if form.is_valid():
        try:
            values = {
                name: value
                for name, value in form.cleaned_data.items()
                if name not in ("submission", "task", "from_day")
            }
            set_interval(
                form.cleaned_data["task"],
                site,
                form.cleaned_data["from_day"],
                by=request.allowed.person,
                id=form.fact_id,
                **values,
            )
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"The interval of {form.cleaned_data['task'].title} is saved.")
            return redirect("clinic:intervals", site=site.code)
    return render(request, "clinic/equipment/intervals.html", {"form": form, "rows": intervals_of(site, request.today)})


@door(May.ROSTER)
def closures(request: HttpRequest, site: Site) -> HttpResponse:
    form = ClosureForm(request.today, request.POST or None)
    falls: list[str] = []
    if form.is_valid() and not form.cleaned_data["seen"]:
        first, after = form.cleaned_data["first"], form.cleaned_data["last"] + DAY
        falls = closing_falls(site, first, after, request.today)
        form.show_first(falls)
    if form.is_valid():
        values = form.cleaned_data
        close_site(
            site,
            values["first"],
            values["last"] + DAY,
            by=request.allowed.person,
            reason=values["reason"],
            id=form.fact_id,
        )
        messages.success(request, "The closed days are recorded. Upkeep clocks stand still on them.")
        return redirect("clinic:closures", site=site.code)
    return render(request, "clinic/equipment/closures.html", {"form": form, "rows": closures_of(site), "falls": falls})
