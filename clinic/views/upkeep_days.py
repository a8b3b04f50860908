"""On how many days upkeep was in time, by task and by unit, with the picture of the days."""

from datetime import timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from clinic.doors import door
from clinic.forms.in_time import PeriodForm
from clinic.models import Site
from clinic.permissions import May
from clinic.reads.days_in_time import site_days

A_YEAR = timedelta(days=364)


@door(May.DUTY, May.READ_SITE)
def in_time(request: HttpRequest, site: Site) -> HttpResponse:
    """The year up to today unless days are named."""
    days = {"first": request.today - A_YEAR, "last": request.today}
    form = PeriodForm(request.today, request.GET if "first" in request.GET else None, initial=days)
    if form.is_valid():
        days = form.cleaned_data
    found = site_days(site, days["first"], days["last"], request.today)
    return render(request, "clinic/upkeep/in_time.html", {"form": form, "found": found})
