"""Who may do what at a site, on any day and as known at any instant; and from each cell to the fact that caused it."""

from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode

from clinic.doors import door
from clinic.forms.base import FIRST_DAY, LAST_DAY
from clinic.models import Seal, Site
from clinic.permissions import May
from clinic.rules.ids import is_id
from clinic.rules.words import short_day
from clinic.workbooks import WORKBOOK
from training.forms.matrix import AsOf
from training.models import Procedure, StandingSpan
from training.reads.matrix import Squares, for_page, last_known, squares, told
from training.reads.matrix_narrowed import Wish, as_file, as_workbook, choices, narrowed
from training.views.person import end_of


@door(May.READ_SITE)
def matrix(request: HttpRequest, site: Site) -> HttpResponse:
    """The day and the instant come from the address, so that a link shows the same answer to everybody."""
    form = AsOf(request.GET or None, initial={"day": request.today})
    day = form.cleaned_data["day"] or request.today if form.is_valid() else request.today
    known = form.cleaned_data.get("known") if form.is_bound and form.is_valid() else None
    whole, wish = squares(site, day, end_of(site, known)), wish_of(request)
    found = narrowed(whole, wish)
    if "csv" in request.GET:
        return saved(found, "csv", "text/csv; charset=utf-8", as_file(found))
    if "xlsx" in request.GET:
        return saved(found, "xlsx", WORKBOOK, as_workbook(found))
    wrong = {name: " ".join(map(str, form.errors.get(name, []))) for name in form.fields}
    page = {"form": form, "wrong": wrong, "day": day, "known": known, "wish": wish, "choices": choices(whole)}
    page |= shown(site, found, wish) | {"of_people": len(whole.people), "of_procedures": len(whole.procedures)}
    return render(request, "training/matrix/matrix.html", page)


def wish_of(request: HttpRequest) -> Wish:
    return Wish(*(request.GET.get(name, "").strip() for name in ("role", "state", "procedure")))


def saved(found: Squares, kind: str, content_type: str, content: str | bytes) -> HttpResponse:
    """What is shown, as a file."""
    name = f"who-may-do-what-{found.site.code}-{found.day:%Y-%m-%d}.{kind}"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(content, content_type=content_type, headers=headers)


def shown(site: Site, found: Squares, wish: Wish) -> dict[str, Any]:
    page = reverse("training:matrix", kwargs={"site": site.code})

    def link(days: int) -> str:
        query = {"day": f"{short_day(found.day + timedelta(days=days))}"}
        query |= {"known": f"{short_day(last_known(found))}"} if found.known_by else {}
        return f"{page}?{urlencode(query | wish.query)}"

    return {
        "as_file": link(0) + "&csv=1",
        "as_workbook": link(0) + "&xlsx=1",
        "matrix": for_page(found),
        "told": told(found),
        "earlier": link(-1),
        "later": link(1),
    }


@door(May.READ_SITE)
def cell(request: HttpRequest, site: Site, person: UUID, code: str, day: str) -> HttpResponse:
    """To the fact that caused the state of that day; where time caused it, to the person's page of the procedure. As known by
    the end of an earlier day (`?known=2026-11-10`), always to that page, as known then."""
    who = get_object_or_404(request.allowed.people(site), pk=person)
    procedure = get_object_or_404(Procedure.objects.of(site.organisation), code=code)
    where = reverse("training:person_procedure", kwargs={"site": site.code, "person": who.pk, "code": code})
    if known := request.GET.get("known"):
        return redirect(
            f"{where}?{urlencode({'day': day_named(day).isoformat(), 'known': day_named(known).isoformat()})}"
        )
    span = StandingSpan.objects.on(day_named(day)).filter(person=who, procedure=procedure).first()
    fact = Seal.objects.filter(fact=span.cause).first() if span and is_id(span.cause) else None
    if fact is not None:
        return redirect("training:fact", site=site.code, fact=fact.fact)
    return redirect(f"{where}?{urlencode({'day': day})}")


def day_named(day: str) -> date:
    try:
        named = date.fromisoformat(day)
    except ValueError as wrong:
        raise Http404("No such day.") from wrong
    if not FIRST_DAY <= named <= LAST_DAY:
        raise Http404("No day of this register.")
    return named
