"""Today: what needs whoever looks."""

from datetime import timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from clinic.doors import door
from clinic.models import Site
from clinic.permissions import May
from training.reads.today import today_for


@door(May.OWN_RECORD, May.READ_SITE, May.READ_BINDER)
def today(request: HttpRequest, site: Site) -> HttpResponse:
    page = today_for(request.allowed, site, request.today)
    days = {"first": request.today - timedelta(days=7), "after": request.today + timedelta(days=61)}
    return render(request, "training/today/today.html", {"page": page, **days})
