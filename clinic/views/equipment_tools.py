"""Milling tools: where they sit, what is left of their life, the makers' table, and the swap."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode

from clinic import lock
from clinic.actions.tools import SwapAsked, Swapped, allow_pair, check_choice, enter_tool, swap_tool
from clinic.answers import gone, kept_under, refusals_in, wants_data
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.forms.tools import PairForm, SwapForm, ToolForm
from clinic.models import Equipment, MakersPair, MillingTool, Site
from clinic.permissions import May
from clinic.port import code_of, procedure_on, usable_people
from clinic.reads.drivers import drivers_now
from clinic.reads.site_answers import answers_at
from clinic.reads.stops import why_stopped
from clinic.reads.tools import mountable, mounted_in, tools_now
from clinic.record import Refused
from clinic.rules.ids import as_id
from clinic.rules.roles import ProcedureRole
from clinic.tablet import unit_of_tablet
from clinic.views.equipment import unit_of


@door(May.DUTY, May.READ_SITE)
def tools(request: HttpRequest, site: Site) -> HttpResponse:
    found = tools_now(site, request.today)
    at, units = unit_of_tablet(request, site), Equipment.objects.filter(site=site, kind="milling unit")
    mills = sorted(units.in_service_on(request.today), key=lambda unit: (unit != at, unit.label))
    worn = [one for one in found if one.mounting and one.share_left == 0]
    gone = [one for one in found if one.gone]
    shown = {"tools": found, "here": [one for one in found if not one.gone], "gone": gone, "mills": mills, "worn": worn}
    return render(request, "clinic/equipment/tools.html", shown)


@door(May.ROSTER)
def new_tool(request: HttpRequest, site: Site) -> HttpResponse:
    form, unit = ToolForm(request.POST or None), swapped_in(request, site)
    if form.is_valid():
        try:
            made = enter_tool(MillingTool(site=site, **form.cleaned_data), by=request.allowed.person)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"{made.code} is entered.")
            return redirect(back_to_swap(unit, made, site) if unit else reverse("clinic:tools", args=[site.code]))
    return render(request, "clinic/equipment/new_tool.html", {"form": form})


def swapped_in(request: HttpRequest, site: Site) -> Equipment | None:
    """The unit whose swap led here: ?unit=."""
    key = as_id(request.GET.get("unit"))
    return Equipment.objects.filter(pk=key, site=site, kind="milling unit").first() if key else None


def back_to_swap(unit: Equipment, tool: MillingTool, site: Site) -> str:
    """To the swap that waits, with the new tool chosen."""
    return f"{reverse('clinic:swap', args=[site.code, unit.pk])}?{urlencode({'tool': str(tool.pk)})}"


@door(May.ROSTER)
def pairs(request: HttpRequest, site: Site, equipment: UUID) -> HttpResponse:
    """The unit maker’s table of tool, material and way."""
    unit = unit_of(site, equipment)
    form = PairForm(request.POST or None, initial={"day": request.today})
    if form.is_valid():
        said = {
            name: value for name, value in form.cleaned_data.items() if name not in ("submission", "day", "allowed")
        }
        try:
            allowed = form.cleaned_data["allowed"] == "yes"
            allow_pair(
                unit, form.cleaned_data["day"], by=request.allowed.person, id=form.fact_id, allowed=allowed, **said
            )
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, "The line is saved.")
            return redirect("clinic:pairs", site=site.code, equipment=unit.pk)
    rows = MakersPair.objects.live().filter(equipment=unit).order_by("-happened_on", "-recorded_at")
    return render(request, "clinic/equipment/pairs.html", {"form": form, "unit": unit, "rows": rows})


@door(May.DUTY)
def swap(request: HttpRequest, site: Site, equipment: UUID) -> HttpResponse:
    unit = unit_of(site, equipment)
    me, code = request.allowed.person, code_of(site.organisation, ProcedureRole.TOOL_SWAP)
    usable = usable_people(site.organisation, code, request.today)
    initial = {name: request.GET.get(name) for name in ("position", "material", "way", "tool")} | {"day": request.today}
    lock.hold(request)
    form, checked = SwapForm(site, request.today, me, request.POST or None, initial=initial), None
    form.offer(mountable(unit, tools_now(site, request.today), initial, request.today))
    if form.is_valid():
        try:
            if not form.only_checks:
                say(request, unit, swap_tool(asked_of(form, unit), site=site, by=me, id=form.fact_id))
                return gone(request, after_swap(request, site, unit))
            checked = check_choice(asked_of(form, unit), site=site)
        except Refused as refused:
            add_refusals(form, refused)
    if request.method == "POST" and wants_data(request):
        return refusals_in(form)
    shown = {
        "form": form,
        "checked": checked,
        "stopped": why_stopped(unit, request.today),
        "may_enter": request.allowed.may(May.ROSTER, site),
        "kept": kept_under(request, site, me, unit.label, "Tool swap"),
        "unit": unit,
        "sitting": mounted_in(unit, tools_now(site, request.today)),
        "procedure": procedure_on(site.organisation, code, request.today, answers_at(site, unit)),
        "drivers": drivers_now(site, request.today),
    }
    return render(request, "clinic/equipment/swap.html", shown | {"i_may": me.pk in usable})


def after_swap(request: HttpRequest, site: Site, unit: Equipment) -> str:
    """Back to the set that is being changed, for its next position; else to the tools."""
    if "set" not in request.GET:
        return reverse("clinic:tools", args=[site.code])
    key = {name: request.GET.get(name, "") for name in ("material", "way")}
    return f"{reverse('clinic:tool_set', args=[site.code, unit.pk])}?{urlencode(key)}"


def say(request: HttpRequest, unit: Equipment, done: Swapped) -> None:
    if done.removed:
        messages.success(request, f"{done.removed.mounting.tool} is out: {done.removed.get_why_display().lower()}.")
    if done.mounted:
        where = f"position {done.mounted.position} of {unit}"
        messages.success(request, f"{done.mounted.tool} sits in {where}. Set the life counter of this tool only.")
    for warning in done.warnings:
        messages.warning(request, warning)


def asked_of(form: SwapForm, unit: Equipment) -> SwapAsked:
    values = form.cleaned_data
    return SwapAsked(
        unit, values["position"].strip(), values["tool"], values["driver"], values["clicked"] if values["driver"] else None,
        (values["still"], values["nobody_can_start"], values["protected"]), (values["counted_out"], values["counted_in"]),
        form.pair, values["why"], values["life_used"], form.stood_by_person, values["day"],
    )  # fmt: skip
