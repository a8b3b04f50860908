"""Who can cover what in the coming days, what to watch this week so that it stays so, and how somebody learns."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from clinic.doors import door
from clinic.models import Site
from clinic.permissions import May
from training.documents import cover_sheet
from training.reads.cover_sheet import cover_sheet as sheet_of
from training.reads.coverage import site_coverage
from training.reads.learning import learning_of
from training.reads.mending import ways_to_unblock
from training.reads.week import AHEAD, week_of
from training.views.papers import pdf


@door(May.READ_SITE)
def coverage(request: HttpRequest, site: Site) -> HttpResponse:
    """Every duty and working day of the coming ninety days."""
    return render(request, "training/judging/coverage.html", {"page": site_coverage(site, request.today)})


@door(May.READ_SITE)
def coverage_pdf(request: HttpRequest, site: Site) -> HttpResponse:
    """The same for the wall of the office."""
    return pdf(cover_sheet.build(sheet_of(site, request.today)), f"coverage-{site.code}")


@door(May.READ_SITE)
def week_plan(request: HttpRequest, site: Site) -> HttpResponse:
    """What the one who looks should watch in the coming seven days, then everybody else."""
    week, me = week_of(site, request.today), request.allowed.person
    left = [(one, ways_to_unblock(one.ends.span, one.ends.blocks, request.allowed, site)) for one in week.left]
    shown = {"left": left, "week": week, "mine": week.of(me), "others": week.of_others(me), "ahead": AHEAD.days}
    return render(request, "training/judging/week.html", shown)


@door(May.OWN_RECORD, May.READ_SITE)
def learning(request: HttpRequest, site: Site, person: UUID) -> HttpResponse:
    """One's own picture, or anybody's for whoever reads the site."""
    who = get_object_or_404(request.allowed.people(site), pk=person)
    shown = {"person": who, "learnt": learning_of(who, site, request.today)}
    return render(request, "training/judging/learning.html", shown)
