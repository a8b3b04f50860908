"""Who can cover what in the coming days."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from clinic.doors import door
from clinic.models import Site
from clinic.permissions import May
from training.reads.coverage import site_coverage


@door(May.READ_SITE)
def coverage(request: HttpRequest, site: Site) -> HttpResponse:
    """Every duty and working day of the coming ninety days."""
    return render(request, "training/judging/coverage.html", {"page": site_coverage(site, request.today)})
