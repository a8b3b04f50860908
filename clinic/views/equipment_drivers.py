"""Torque drivers and references: what their papers say, and verification by readings."""

from datetime import date
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from clinic.actions.drivers import Readings, verification_of, verify_driver, write_driver, write_reference
from clinic.actions.upkeep import is_out_of_service
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.forms.drivers import DriverForm, ReferenceForm, VerificationForm
from clinic.models import DriverDetails, Equipment, Site
from clinic.permissions import May
from clinic.reads.consequences import failing_falls
from clinic.reads.drivers import (
    VerificationSaid,
    details_on,
    drivers_now,
    jobs_since,
    last_pass_of,
    reference_on,
    verifications_of,
)
from clinic.record import Refused
from clinic.rules.torque import HOW_TO_LOAD

WRITES = {
    "torque driver": (DriverForm, write_driver, details_on),
    "reference driver": (ReferenceForm, write_reference, reference_on),
}


@door(May.DUTY, May.READ_SITE)
def drivers(request: HttpRequest, site: Site) -> HttpResponse:
    """Every driver: may it be used today, and through when."""
    found = drivers_now(site, request.today)
    references = [
        (unit, reference_on(unit, request.today))
        for unit in Equipment.objects.filter(site=site, kind="reference driver")
    ]
    shown = {"drivers": found, "references": references, "good": sum(not one.refused for one in found)}
    return render(request, "clinic/equipment/drivers.html", shown)


@door(May.ROSTER)
def papers(request: HttpRequest, site: Site, equipment: UUID) -> HttpResponse:
    """What a driver or a reference is, from a day."""
    unit = get_object_or_404(Equipment.objects.select_related("site"), pk=equipment, site=site)
    if unit.kind not in WRITES:
        return redirect("clinic:unit", site=site.code, equipment=unit.pk)
    made, write, on = WRITES[unit.kind]
    now = on(unit, request.today)
    before = {name: getattr(now, name, None) for name in made.base_fields if name != "submission"} if now else {}
    form = made(request.POST or None, initial=before | {"day": request.today})
    if form.is_valid():
        said = {name: value for name, value in form.cleaned_data.items() if name not in ("submission", "day")}
        try:
            write(unit, form.cleaned_data["day"], by=request.allowed.person, id=form.fact_id, **said)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"What {unit} is, is saved.")
            return redirect("clinic:drivers", site=site.code)
    return render(request, "clinic/equipment/papers.html", {"form": form, "unit": unit})


@door(May.DUTY)
def verify(request: HttpRequest, site: Site, equipment: UUID) -> HttpResponse:
    unit = get_object_or_404(Equipment.objects.select_related("site"), pk=equipment, site=site)
    details = details_on(unit, request.today)
    if unit.kind != "torque driver" or details is None:
        messages.warning(
            request,
            f"Nothing is written about {unit} as a torque driver: its class, its torque and what it fits come first.",
        )
        return redirect("clinic:drivers", site=site.code)
    form = VerificationForm(details, request.POST or None, initial={"day": request.today})
    if form.is_valid():
        values = form.cleaned_data
        read = Readings(
            unit,
            values["reference"],
            values["day"],
            form.points,
            (values["room_lowest"], values["room_highest"]),
            values["note"],
        )
        try:
            found = verification_of(read, site=site, by=request.allowed.person, id=form.fact_id)
            if found.outside and not values["sure"]:
                form.ask_whether_sure(found.reasons)
                return show_check(request, unit, form, details)
            said = verify_driver(read, site=site, by=request.allowed.person, id=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            tell(request, unit, said)
            return redirect("clinic:verify", site=site.code, equipment=unit.pk)
    return show_check(request, unit, form, details)


def show_check(request: HttpRequest, unit: Equipment, form: VerificationForm, details: DriverDetails) -> HttpResponse:
    return render(
        request,
        "clinic/equipment/verify.html",
        {"form": form, "details": details, "how": HOW_TO_LOAD} | checks_of(unit, request.today),
    )


def checks_of(unit: Equipment, today: date) -> dict[str, object]:
    """What is known of a driver's checks; the jobs since its last pass where it failed or is out of service."""
    history = verifications_of(unit)
    last_pass, failed = last_pass_of(unit, history), bool(history) and history[0].outside
    doubted = failed or is_out_of_service(unit)
    jobs = jobs_since(unit, last_pass) if doubted else []
    return {
        "unit": unit,
        "history": history,
        "last_pass": last_pass,
        "failed": failed,
        "doubted": doubted,
        "jobs": jobs,
        "falls": [] if doubted else failing_falls(unit, today),
    }


def tell(request: HttpRequest, unit: Equipment, said: VerificationSaid) -> None:
    if said.passed:
        messages.success(request, f"{unit} passed. Put its next day on it.")
    elif not said.outside:
        messages.warning(
            request, f"This check of {unit} does not count, and its due day stays. {' '.join(said.reasons)}"
        )
    else:
        messages.warning(
            request,
            f"{unit} did not pass. It is out of service: put it away with the tag “do not use”, and look at the jobs since its last pass.",
        )
