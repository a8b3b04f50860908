"""Everybody at a site: who lapses, who is learning, who can be signed."""

from collections.abc import Sequence
from typing import Any

from django.core.paginator import Paginator
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import urlencode

from clinic.doors import door
from clinic.models import JobRole, Person, RoleHeld, Site
from clinic.permissions import May
from training.forms.people import PeopleFilter
from training.reads.people import PersonListed, everybody
from training.rules.facts import State

A_PAGE = 50


@door(May.OWN_RECORD, May.READ_SITE)
def people(request: HttpRequest, site: Site) -> HttpResponse:
    """Whoever may not read the site is sent to their own page."""
    if not request.allowed.may(May.READ_SITE, site):
        return redirect("training:person", site=site.code, person=request.allowed.person.pk)
    form = PeopleFilter(titles_at(site), request.GET or None)
    asked = form.cleaned_data if form.is_valid() else {}
    found = everybody(site, list(chosen(request, site, asked)), request.today)
    shown = [member for member in found.members if wanted(member, asked.get("show", ""))]
    page = Paginator(shown, A_PAGE).get_page(request.GET.get("page"))
    rows = [(member, found.says(member)) for member in page]
    query = urlencode({name: value for name, value in asked.items() if value})
    return render(
        request,
        "training/people/people.html",
        {"form": form, "page": page, "rows": rows, "query": query, "nobody": not (any(asked.values()) or found.members)}
        | counts(shown),
    )


def counts(shown: Sequence[PersonListed]) -> dict[str, Any]:
    """What the head says, of the people listed below it and of nobody else."""
    return {
        "lapsing": sum(bool(member.lapses) for member in shown),
        "learning": sum(member.is_learning for member in shown),
        "gone": [member for member in shown if member.gone],
        "signed": any(member.signed for member in shown),
        "everybody": len(shown),
    }


def titles_at(site: Site) -> list[str]:
    held = RoleHeld.objects.filter(site=site).values("job_role")
    return list(JobRole.objects.filter(pk__in=held).order_by("title").values_list("title", flat=True))


def chosen(request: HttpRequest, site: Site, asked: dict[str, str]) -> QuerySet[Person]:
    """By name, staff number and job role; those who left only where they are asked for."""
    at_work = Person.objects.at_site(site, request.today).filter(
        Q(last_day__isnull=True) | Q(last_day__gte=request.today)
    )
    rows = request.allowed.people(site)
    left = asked.get("show") == "left"
    rows = rows.exclude(pk__in=at_work.values("pk")) if left else rows.filter(pk__in=at_work.values("pk"))
    for word in asked.get("q", "").split():
        rows = rows.filter(
            Q(given_name__icontains=word) | Q(family_name__icontains=word) | Q(staff_number__icontains=word)
        )
    if asked.get("role"):
        held = RoleHeld.objects.filter(site=site, job_role__title=asked["role"])
        rows = rows.filter(pk__in=(held if left else held.held_on(request.today)).values("person"))
    return rows.by_name()


def wanted(member: PersonListed, show: str) -> bool:
    checks = {
        "lapsing": bool(member.lapses),
        "gone": bool(member.gone),
        "learning": member.is_learning,
        "ready": bool(member.having(State.READY)),
    }
    return checks.get(show, True)
