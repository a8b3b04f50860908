"""One person: everything they may do alone, one procedure in full, and their plan; as of any day."""

from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode

from clinic.doors import door
from clinic.models import Person, Site
from clinic.permissions import May
from clinic.rules.retention import vaccine_words
from clinic.rules.words import short_day
from training.documents import teaching_sheet
from training.forms.people import PersonDay
from training.models import Procedure
from training.reads.person import person_page, procedure_page
from training.reads.plan import plan_rows, training_of
from training.reads.teaching import possible, ten_days
from training.reads.teaching_sheet import teaching_sheet as teaching_sheet_of
from training.views.papers import pdf


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


def asked_known(form: PersonDay) -> date | None:
    """By the end of which day it was known; None for now."""
    return form.cleaned_data["known"] if form.is_bound and form.is_valid() else None


def asked_facts(form: PersonDay) -> date | None:
    """Through which day the list of facts is read; None for the newest."""
    return form.cleaned_data["facts"] if form.is_bound and form.is_valid() else None


def end_of(site: Site, known: date | None) -> datetime | None:
    """The end of the day at the site: what was recorded by then was known."""
    return datetime.combine(known + timedelta(days=1), time(), tzinfo=ZoneInfo(site.time_zone)) if known else None


def stepper(url: str, form: PersonDay, day: date) -> dict[str, Any]:
    known = asked_known(form)

    def on(other: date) -> str:
        return f"{url}?{days_asked(other, known)}"

    error = form.errors["day"][0] if form.is_bound and "day" in form.errors else ""
    return {
        "day": day,
        "known": known,
        "asked": days_asked(day, known),
        "earlier": on(day - timedelta(days=1)),
        "later": on(day + timedelta(days=1)),
        "day_error": error,
    }


def days_asked(day: date, known: date | None) -> str:
    """The part of an address that asks for these days."""
    return urlencode({"day": f"{short_day(day)}"} | ({"known": f"{short_day(known)}"} if known else {}))


@door(May.OWN_RECORD, May.READ_SITE)
def person(request: HttpRequest, site: Site, person: UUID) -> HttpResponse:
    """Choosing a procedure leads to its own page, on the same day."""
    who, (form, day) = whose(request, site, person), asked_day(request)
    code = request.GET.get("procedure", "")
    if Procedure.objects.of(site.organisation).filter(code=code).exists():
        here = reverse("training:person_procedure", kwargs={"site": site.code, "person": who.pk, "code": code})
        known = asked_known(form)
        return redirect(f"{here}?{days_asked(day, known)}" if known or day != request.today else here)
    step = stepper(request.path, form, day)
    shown = {
        "page": person_page(site, who, day, end_of(site, step["known"]), asked_facts(form)),
        "mine": who == request.allowed.person,
        "procedures": own_codes(who),
    }
    shown["vaccine"] = vaccine_words(who.given_name, began, request.today) if (began := shown["page"].since) else ""
    return render(request, "training/people/person.html", {**shown, **step})


def own_codes(who: Person) -> list[tuple[str, str]]:
    return list(Procedure.objects.of(who.organisation).values_list("code", "title"))


@door(May.OWN_RECORD, May.READ_SITE)
def person_procedure(request: HttpRequest, site: Site, person: UUID, code: str) -> HttpResponse:
    who, (form, day) = whose(request, site, person), asked_day(request)
    procedure = get_object_or_404(Procedure.objects.of(who.organisation), code=code)
    step = stepper(request.path, form, day)
    shown = {
        "page": procedure_page(who, procedure, day, end_of(site, step["known"]), asked_facts(form)),
        "mine": who == request.allowed.person,
        "procedures": own_codes(who),
    }
    return render(request, "training/people/person_procedure.html", {**shown, **step})


@door(May.OWN_RECORD, May.READ_SITE)
def plan(request: HttpRequest, site: Site, person: UUID) -> HttpResponse:
    """The way ahead: in which order, by when, and what is missing."""
    who, (form, day) = whose(request, site, person), asked_day(request)
    known = end_of(site, asked_known(form))
    training = training_of(who, day, known)
    rows = plan_rows(possible(training, site) if known is None and day == request.today else training)
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


@door(May.OWN_RECORD, May.READ_SITE)
def ten_days_page(request: HttpRequest, site: Site, person: UUID) -> HttpResponse:
    """What comes next, day by day: computed from the facts, who is there and today, so a day missed moves it."""
    who = whose(request, site, person)
    shown = {"page": ten_days(who, site, request.today), "mine": who == request.allowed.person}
    return render(request, "training/people/ten_days.html", shown)


@door(May.OWN_RECORD, May.READ_SITE)
def ten_days_pdf(request: HttpRequest, site: Site, person: UUID) -> HttpResponse:
    """The same on one page, for the pocket."""
    who = whose(request, site, person)
    return pdf(teaching_sheet.build(teaching_sheet_of(ten_days(who, site, request.today))), f"ten-days-{who.pk}")
