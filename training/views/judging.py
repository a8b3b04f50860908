"""Who can cover what in the coming days, and what to watch this week so that it stays so."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from clinic.doors import door
from clinic.models import Site
from clinic.permissions import May
from training.reads.coverage import site_coverage
from training.reads.week import AHEAD, week_of


@door(May.READ_SITE)
def coverage(request: HttpRequest, site: Site) -> HttpResponse:
    """Every duty and working day of the coming ninety days."""
    return render(request, "training/judging/coverage.html", {"page": site_coverage(site, request.today)})


@door(May.READ_SITE)
def week_plan(request: HttpRequest, site: Site) -> HttpResponse:
    """What the one who looks should watch in the coming seven days, then everybody else."""
    week, me = week_of(site, request.today), request.allowed.person
    shown = {"week": week, "mine": week.of(me), "others": week.of_others(me), "ahead": AHEAD.days}
    return render(request, "training/judging/week.html", shown)
