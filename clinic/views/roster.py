"""The roster: who works here in which job roles, people who come, change and leave."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.db.models import Prefetch, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from clinic.actions.people import change_person, end_role, give_role, hire, job_role, leave
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.forms.roster import ChangePerson, GiveRole, LastDay, NewPerson
from clinic.models import Account, Appointment, Person, RoleHeld, Site
from clinic.permissions import May
from clinic.port import what_falls_without
from clinic.record import Refused, only_if_allowed
from clinic.rights import against_change
from clinic.rules.words import in_text, short_day


def of_site(site: Site, person: UUID) -> Person:
    """Whoever is or was here, by home, by a job role, or by a post."""
    posts = Appointment.objects.filter(Q(site=site) | Q(site__isnull=True), person__organisation=site.organisation_id)
    rows = Person.objects.filter(
        Q(pk__in=Person.objects.ever_at_site(site).values("pk")) | Q(pk__in=posts.values("person"))
    )
    found: Person = get_object_or_404(rows.select_related("organisation", "home_site"), pk=person)
    return found


@door(May.ROSTER)
def roster(request: HttpRequest, site: Site) -> HttpResponse:
    """Those who work here or will, then those who left."""
    roles = RoleHeld.objects.filter(site=site).select_related("job_role")
    rows = Person.objects.ever_at_site(site).by_name().prefetch_related(Prefetch("roles_held", roles, to_attr="here"))
    rows = rows.prefetch_related(Prefetch("account", Account.objects.all(), to_attr="login"))
    over = Q(last_day__lt=request.today)
    shown = {"at_work": list(rows.exclude(over)), "left": list(rows.filter(over))}
    return render(request, "clinic/roster/roster.html", shown)


@door(May.ROSTER)
def person_new(request: HttpRequest, site: Site) -> HttpResponse:
    """The id of the form is the person's, so that sending it twice enters one person."""
    form = NewPerson(site, request.POST or None, initial={"from_day": request.today})
    if form.is_valid():
        person = Person.objects.filter(pk=form.fact_id).first() or enter(request, site, form)
        messages.success(request, f"{person} is entered. Next: an account, so that they can sign in.")
        return redirect("clinic:person_change", site=site.code, person=person.pk)
    return render(request, "clinic/roster/person_new.html", {"form": form})


def enter(request: HttpRequest, site: Site, form: NewPerson) -> Person:
    by, data = request.allowed.person, form.cleaned_data
    person = Person(id=form.fact_id, organisation=site.organisation, home_site=site, **form.columns)
    hire(person, by=by)
    role = job_role(site.organisation, data["job_role"], at=site, by=by)
    give_role(person, site, role, data["from_day"], by=by)
    return person


@door(May.ROSTER)
def person_change(request: HttpRequest, site: Site, person: UUID) -> HttpResponse:
    who = of_site(site, person)
    before = {name: getattr(who, name) for name in ("given_name", "family_name", "staff_number", "email", "language")}
    elsewhere = against_change(request.allowed.person, who, site)
    form = None
    if elsewhere is None or request.method == "POST":
        only_if_allowed(elsewhere)
        form = ChangePerson(site, request.POST or None, person=who, initial=before)
    if form and form.is_valid():
        for name, value in form.columns.items():
            setattr(who, name, value)
        change_person(who, by=request.allowed.person)
        messages.success(request, f"{who} is changed. What was printed before keeps the name of its day.")
        return redirect("clinic:person_change", site=site.code, person=who.pk)
    known = {"form": form, "elsewhere": elsewhere, "person": who, **held_by(who, site)}
    return render(request, "clinic/roster/person_change.html", known)


def held_by(who: Person, site: Site) -> dict[str, Any]:
    account = Account.objects.filter(person=who).first()
    last = account.invitations.order_by("-made_at").first() if account else None
    roles = who.roles_held.select_related("job_role", "site")
    return {"account": account, "invitation": last, "roles": roles, "posts": who.appointments.select_related("site")}


@door(May.ROSTER)
def role_give(request: HttpRequest, site: Site, person: UUID) -> HttpResponse:
    who = of_site(site, person)
    form = GiveRole(site, request.POST or None, initial={"from_day": request.today})
    if form.is_valid():
        data = form.cleaned_data
        try:
            role = job_role(site.organisation, data["job_role"], at=site, by=request.allowed.person)
            give_role(who, site, role, data["from_day"], by=request.allowed.person, to_day=data["to_day"])
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"{who} is {in_text(role.title)} from {short_day(data['from_day'])}.")
            return redirect("clinic:person_change", site=site.code, person=who.pk)
    return render(request, "clinic/roster/role_give.html", {"form": form, "person": who})


@door(May.ROSTER)
def role_end(request: HttpRequest, site: Site, role_held: int) -> HttpResponse:
    """Of this site, or of another one whose roster is theirs too."""
    mine = [each.pk for each in request.allowed.sites if request.allowed.may(May.ROSTER, each)]
    held = get_object_or_404(RoleHeld.objects.select_related("person", "job_role", "site"), pk=role_held, site__in=mine)
    form = LastDay(
        request.POST or None, button="End this job role", first=held.from_day, initial={"to_day": request.today}
    )
    if form.is_valid():
        end_role(held, form.cleaned_data["to_day"], by=request.allowed.person)
        messages.success(request, f"{held} ends on {short_day(held.to_day)}. What it needs is needed through that day.")
        return redirect("clinic:person_change", site=site.code, person=held.person_id)
    return render(request, "clinic/roster/role_end.html", {"form": form, "held": held})


@door(May.ROSTER)
def person_leave(request: HttpRequest, site: Site, person: UUID) -> HttpResponse:
    """Nothing is deleted: the history names them."""
    who = of_site(site, person)
    only_if_allowed(against_change(request.allowed.person, who, site))
    form = LastDay(request.POST or None, button="Enter the last day", initial={"to_day": who.last_day or request.today})
    if form.is_valid():
        try:
            leave(who, form.cleaned_data["to_day"], by=request.allowed.person)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            said = f"{who} leaves, last day {short_day(who.last_day)}."
            messages.success(request, f"{said} Roles and posts end with it, and the account shuts.")
            return redirect("clinic:person_change", site=site.code, person=who.pk)
    falls = what_falls_without(who, site, request.today)
    return render(request, "clinic/roster/leave.html", {"form": form, "person": who, "falls": falls})
