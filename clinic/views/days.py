"""The days on which a person works, for whoever keeps the roster."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from clinic.actions.days import drop_absence, plan_absence, set_working_days, was_dropped
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.forms.days import Away, WorkingDays
from clinic.models import Person, Site
from clinic.permissions import May
from clinic.record import Refused


@door(May.ROSTER)
def days(request: HttpRequest, site: Site, person: UUID) -> HttpResponse:
    """Two forms on one page; the button pressed says which of them was sent."""
    who = get_object_or_404(request.allowed.people(site), pk=person)
    week = WorkingDays(site, who, request.POST if "week" in request.POST else None)
    away = Away(request.POST if "away" in request.POST else None)
    if "not_away" in request.POST:
        return after_all(request, site, who)
    if (week.is_valid() and save_week(request, site, who, week)) or (
        away.is_valid() and save_away(request, site, who, away)
    ):
        return redirect("clinic:days", site=site.code, person=who.pk)
    absences = who.absences.filter(to_day__gte=request.today).order_by("from_day")
    return render(
        request, "clinic/days/days.html", {"person": who, "week": week, "away": away, "absences": list(absences)}
    )


def save_week(request: HttpRequest, site: Site, person: Person, form: WorkingDays) -> bool:
    try:
        set_working_days(person, form.pattern, at=site, by=request.allowed.person)
    except Refused as refused:
        add_refusals(form, refused)
        return False
    messages.success(request, f"The working days of {person} are saved.")
    return True


def save_away(request: HttpRequest, site: Site, person: Person, form: Away) -> bool:
    try:
        plan_absence(person, **form.stretch, at=site, by=request.allowed.person)
    except Refused as refused:
        add_refusals(form, refused)
        return False
    messages.success(request, f"The days away of {person} are entered.")
    return True


def after_all(request: HttpRequest, site: Site, person: Person) -> HttpResponse:
    sent = request.POST["not_away"]
    key = sent if sent.isdecimal() and len(sent) < 19 else None
    if key is None or not was_dropped(person, key):
        drop_absence(get_object_or_404(person.absences.all(), pk=key), at=site, by=request.allowed.person)
    messages.success(request, f"{person} is at work in those days after all.")
    return redirect("clinic:days", site=site.code, person=person.pk)
