"""Taught sessions: record one as it was, see what it lacks, put a record right by a later one."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.models import Person, Seal, Site
from clinic.permissions import May
from clinic.record import Refused, only_if_allowed
from clinic.rights import against_putting_right
from clinic.rules.words import short_day
from training.actions.putting_right import correct_session
from training.actions.teach import record_session
from training.forms.teach import CorrectSessionForm, SessionForm
from training.models import Procedure, TaughtSession, Version
from training.reads import teach as reads
from training.reads.putting_right import put_right as how_put_right
from training.views.proving import known_as, proven_here

A_PAGE = 25


def readable(request: HttpRequest, site: Site) -> "QuerySet[TaughtSession]":
    """All of the site, or those that one attended."""
    rows = reads.sessions_at(site)
    return rows if request.allowed.may(May.READ_SITE, site) else reads.attended_by(rows, [request.allowed.person])


@door(May.OWN_RECORD, May.READ_SITE)
def sessions(request: HttpRequest, site: Site) -> HttpResponse:
    page = Paginator(readable(request, site), A_PAGE).get_page(request.GET.get("page"))
    shown = [reads.session_shown(row) for row in page]
    return render(request, "training/sessions/sessions.html", {"page": page, "shown": shown})


@door(May.OWN_RECORD, May.READ_SITE)
def session(request: HttpRequest, site: Site, taught_session: UUID) -> HttpResponse:
    """A record that was corrected is still shown, and says what stands in its place."""
    mine = TaughtSession.objects.filter(site=site)
    rows = mine if request.allowed.may(May.READ_SITE, site) else reads.attended_by(mine, [request.allowed.person])
    row = get_object_or_404(reads.with_parts(rows), pk=taught_session)
    later = Seal.objects.filter(corrects=row.pk).first()
    right = how_put_right(request.allowed.person, row, request.today)
    known = {
        "shown": reads.session_shown(row),
        "later": later,
        "right": right,
        "mends": [("Put it right", reverse("training:session_correct", args=[site.code, row.pk]))] if right.may else [],
        "replaced": TaughtSession.objects.filter(corrects=row.pk).first(),
    }
    return render(request, "training/sessions/session.html", known)


@door(May.ROSTER, May.SIGN)
def new(request: HttpRequest, site: Site) -> HttpResponse:
    form = SessionForm(
        site, topics_of(site, request), people_of(site), request.POST or None, initial=asked_for(request, site)
    )
    if form.is_valid() and (done := recorded(request, form)):
        return told(request, site, done)
    return render(request, "training/sessions/edit.html", {"form": form, "corrects": None})


@door(May.ROSTER, May.SIGN)
def correct(request: HttpRequest, site: Site, taught_session: UUID) -> HttpResponse:
    """A later record that stands in the place of an earlier one."""
    row = get_object_or_404(reads.with_parts(TaughtSession.objects.filter(site=site)), pk=taught_session)
    only_if_allowed(against_putting_right(request.allowed.person, row))
    form = CorrectSessionForm(
        site,
        topics_of(site, request, row),
        people_of(site),
        known_as(request),
        request.POST or None,
        initial=as_it_stands(row),
    )
    if form.is_valid() and (done := put_right(request, site, form, row)):
        return told(request, site, done)
    return render(request, "training/sessions/edit.html", {"form": form, "corrects": row})


def topics_of(site: Site, request: HttpRequest, row: TaughtSession | None = None) -> list[Version]:
    """Topics in force today; and, where a record is put right, those that it names."""
    must_read = Version.objects.live().in_force(request.today).filter(procedure__organisation=site.organisation)
    found = list(must_read.filter(procedure__kind=Procedure.Kind.TOPIC))
    named = [topic.version for topic in row.topics.all()] if row else []
    return [version for version in found if version.procedure_id not in {v.procedure_id for v in named}] + named


def people_of(site: Site) -> "QuerySet[Person]":
    return Person.objects.ever_at_site(site).by_name()


def asked_for(request: HttpRequest, site: Site) -> dict[str, Any]:
    """What the address already chooses: ?topic=T01."""
    topics = [row.pk for row in topics_of(site, request) if row.procedure.code == request.GET.get("topic")]
    return {"days": f"{short_day(request.today)}", "topics": topics}


def as_it_stands(row: TaughtSession) -> dict[str, Any]:
    shown, words = reads.session_shown(row), {True: "yes", False: "no", None: ""}
    own = (
        "summary",
        "trainer",
        "trainer_name",
        "trainer_qualification",
        "language",
        "handed_out",
        "demonstration",
        "extra",
    )
    return {name: getattr(row, name) for name in own} | {
        "days": ", ".join(f"{short_day(day)}" for day in shown.days),
        "topics": [topic.version_id for topic in shown.topics],
        "attendees": [each.person_id for each in shown.attendances],
        "live_questions": words[row.live_questions],
        "demonstrated": words[row.demonstrated],
    }


def recorded(request: HttpRequest, form: SessionForm) -> TaughtSession | None:
    topics, there = list(form.cleaned_data["topics"]), list(form.cleaned_data["attendees"])
    try:
        return record_session(form.session(), topics, there, by=request.allowed.person)
    except Refused as refused:
        add_refusals(form, refused)
        return None


def put_right(
    request: HttpRequest, site: Site, form: CorrectSessionForm, corrects: TaughtSession
) -> TaughtSession | None:
    topics, there = list(form.cleaned_data["topics"]), list(form.cleaned_data["attendees"])
    session = form.session()
    session.corrects = corrects.pk
    try:
        who, proved = proven_here(request, site, form)
        return correct_session(session, topics, there, by=who, proved=proved)
    except Refused as refused:
        add_refusals(form, refused)
        return None


def told(request: HttpRequest, site: Site, session: TaughtSession) -> HttpResponse:
    missing = session.missing_fields
    if missing:
        messages.warning(request, f"Recorded, and it does not count yet. It lacks: {', '.join(missing)}.")
    else:
        messages.success(request, "Recorded, and it counts for everyone who attended.")
    return redirect("training:session", site=site.code, taught_session=session.pk)
