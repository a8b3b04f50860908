"""Anybody on duty stops a unit with one tap; only somebody usable returns it."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from clinic.actions.equipment import is_in_service
from clinic.actions.upkeep import return_unit, stop_unit
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.forms.equipment import ReturnForm, StopForm
from clinic.models import Equipment, OutOfService, Person, Site
from clinic.permissions import May
from clinic.port import procedure_on, returned_by, usable_people
from clinic.reads.site_answers import answers_at
from clinic.reads.stops import stops_of
from clinic.reads.upkeep import everything
from clinic.record import Refused
from clinic.rules.site_text import said
from clinic.rules.stops import AT_ONCE
from clinic.stop_rules import stop_rules
from clinic.tablet import unit_of_tablet
from clinic.views.equipment import unit_of

SERVICE = "service phone"  # the site fact that the stop rules name


@door(May.DUTY)
def stop_a_unit(request: HttpRequest, site: Site) -> HttpResponse:
    at = unit_of_tablet(request, site)
    form = StopForm(site, request.POST or None, initial={"equipment": request.GET.get("unit") or (at and at.pk)})
    if form.is_valid():
        unit = form.cleaned_data["equipment"]
        try:
            stop_unit(unit, form.why, site=site, by=request.allowed.person, id=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            return redirect("clinic:stopped", site=site.code, equipment=unit.pk)
    units, chosen = units_running(site, request), form["equipment"].value()
    rules, answers = stop_rules(), answers_at(site, next((unit for unit in units if str(unit.pk) == str(chosen)), None))
    acts = [said(act, answers) for act in rules.acts]
    shown = {
        "form": form,
        "acts": acts,
        "rules": rules,
        "at_once": AT_ONCE,
        "reasons": [(rule, said(rule.says, answers)) for rule in rules.rules],
    }
    return render(request, "clinic/equipment/stop.html", shown | {"units": units, "chosen": form.is_bound or chosen})


@door(May.DUTY)
def stopped(request: HttpRequest, site: Site, equipment: UUID) -> HttpResponse:
    """Whom to call now, with the number; then why, where nobody has said it yet."""
    unit = unit_of(site, equipment)
    said_why = list(OutOfService.objects.live().filter(equipment=unit).in_order())
    answers, rules = answers_at(site, unit), stop_rules()
    running = any(stop.holds_on(request.today) for stop in stops_of(site).get(unit.pk, ()))
    shown = {
        "unit": unit,
        "running": running,
        "service": answers[SERVICE].value if SERVICE in answers else "",
        "asks_why": running and bool(said_why) and said_why[-1].reason == AT_ONCE,
        "form": StopForm(site, initial={"equipment": unit.pk}),
        "rules": rules,
        "reasons": [(rule, said(rule.says, answers)) for rule in rules.rules],
    }
    return render(request, "clinic/equipment/stopped.html", shown)


def units_running(site: Site, request: HttpRequest) -> list[Equipment]:
    stopped = {key for key, stops in stops_of(site).items() if any(stop.holds_on(request.today) for stop in stops)}
    units = [unit for unit in everything(site) if is_in_service(unit, request.today) and unit.kind != "site"]
    return sorted(
        (unit for unit in units if unit.pk not in stopped),
        key=lambda unit: (unit.kind != "milling unit", unit.kind, unit.label),
    )


@door(May.DUTY)
def return_to_service(request: HttpRequest, site: Site, equipment: UUID) -> HttpResponse:
    """Somebody usable for the procedure of the unit's kind, after its check. Whoever is not usable is told who is."""
    unit = unit_of(site, equipment)
    form = ReturnForm(request.POST or None)
    if form.is_valid():
        try:
            return_unit(unit, form.cleaned_data["check_done"], site=site, by=request.allowed.person, id=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"{unit.label} is back in service.")
            return redirect("clinic:unit", site=site.code, equipment=unit.pk)
    code = returned_by(site.organisation, unit.kind)
    usable = usable_people(site.organisation, code, request.today)
    who = Person.objects.filter(pk__in=usable).at_site(site, request.today).by_name()
    procedure = procedure_on(site.organisation, code, request.today, answers_at(site, unit))
    i_may = not code or request.allowed.person.pk in usable
    shown = {"form": form, "unit": unit, "who": who, "procedure": procedure, "i_may": i_may, "code": code}
    return render(request, "clinic/equipment/return.html", shown)
