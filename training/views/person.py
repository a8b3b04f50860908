"""One person: everything they may do alone, one procedure in full, and their plan; as of any day."""

from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode

from clinic.doors import door
from clinic.models import Person, Site
from clinic.permissions import May
from training.forms.people import PersonDay
from training.models import Procedure
from training.reads.person import person_page, procedure_page
from training.reads.plan import plan_rows, training_of


def whose(request: HttpRequest, site: Site, person: UUID) -> Person:
    """Oneself at every site one may enter, others where they belong to the site and may be read."""
    if person == request.allowed.person.pk:
        return request.allowed.person  # type: ignore[no-any-return]
    rows = request.allowed.people(site).select_related("organisation", "home_site")
    found: Person = get_object_or_404(rows, pk=person)
    return found


def asked_day(request: HttpRequest) -> tuple[PersonDay, date]:
    """Today where no day, or no day that can be read, is asked for."""
    form = PersonDay(request.GET or None)
    return form, (form.is_valid() and form.cleaned_data["day"]) or request.today


def stepper(url: str, form: PersonDay, day: date) -> dict[str, Any]:
    def on(other: date) -> str:
        return f"{url}?{urlencode({'day': f'{other:%-d %b %Y}'})}"

    error = form.errors["day"][0] if form.is_bound and "day" in form.errors else ""
    return {
        "day": day,
        "earlier": on(day - timedelta(days=1)),
        "later": on(day + timedelta(days=1)),
        "day_error": error,
    }


@door(May.OWN_RECORD, May.READ_SITE)
def person(request: HttpRequest, site: Site, person: UUID) -> HttpResponse:
    """Choosing a procedure leads to its own page, on the same day."""
    who, (form, day) = whose(request, site, person), asked_day(request)
    if code := request.GET.get("procedure"):
        here = reverse("training:person_procedure", kwargs={"site": site.code, "person": who.pk, "code": code})
        return redirect(f"{here}?{urlencode({'day': f'{day:%-d %b %Y}'})}" if day != request.today else here)
    step = stepper(request.path, form, day)
    shown = {"page": person_page(site, who, day), "mine": who == request.allowed.person, "procedures": own_codes(who)}
    return render(request, "training/people/person.html", {**shown, **step})


def own_codes(who: Person) -> list[tuple[str, str]]:
    return list(Procedure.objects.of(who.organisation).values_list("code", "title"))


@door(May.OWN_RECORD, May.READ_SITE)
def person_procedure(request: HttpRequest, site: Site, person: UUID, code: str) -> HttpResponse:
    who, (form, day) = whose(request, site, person), asked_day(request)
    procedure = get_object_or_404(Procedure.objects.of(who.organisation), code=code)
    step = stepper(request.path, form, day)
    shown = {
        "page": procedure_page(who, procedure, day),
        "mine": who == request.allowed.person,
        "procedures": own_codes(who),
    }
    return render(request, "training/people/person_procedure.html", {**shown, **step})


@door(May.OWN_RECORD, May.READ_SITE)
def plan(request: HttpRequest, site: Site, person: UUID) -> HttpResponse:
    """The way ahead: in which order, by when, and what is missing."""
    who, (form, day) = whose(request, site, person), asked_day(request)
    rows = plan_rows(training_of(who, day))
    to_do = [row for row in rows if not row.line.is_done]
    step = stepper(request.path, form, day)
    shown = {"person": who, "to_do": to_do, "done": [row for row in rows if row.line.is_done], **step}
    return render(
        request, "training/people/plan.html", {**shown, **plan_counts(to_do), "mine": who == request.allowed.person}
    )


def plan_counts(to_do: list[Any]) -> dict[str, Any]:
    finishes = [row.line.earliest_finish for row in to_do]
    reachable = bool(finishes) and all(finishes)
    return {
        "overdue": sum(row.line.is_overdue for row in to_do),
        "late": sum(row.line.is_late and not row.line.is_overdue for row in to_do),
        "next": next((row for row in to_do if row.missing or row.line.detail.version), None),
        "earliest": max(finishes) if reachable else None,
    }
