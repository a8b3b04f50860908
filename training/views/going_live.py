"""The list for a new site: nobody is overdue on the first morning."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import NoReverseMatch, reverse

from clinic.actions.roster import set_register_start
from clinic.doors import door
from clinic.models import Site
from clinic.permissions import May
from clinic.rules.words import short_day
from clinic.site_ways import ways_in_words
from training.forms.grants import RegisterStart
from training.models import CarriedOver
from training.reads.going_live import GoingLivePoint, going_live


@door(May.ROSTER)
def going_live_page(request: HttpRequest, site: Site) -> HttpResponse:
    """The start day can be set until something is carried over to it."""
    fixed = CarriedOver.objects.filter(site=site).exists()
    form = None if fixed else RegisterStart(request.POST or None, initial={"register_start": site.register_start})
    if form is not None and form.is_valid():
        set_register_start(site, form.cleaned_data["register_start"], by=request.allowed.person)
        messages.success(request, f"The register starts on {short_day(site.register_start)}.")
        return redirect("training:going_live", site=site.code)
    points = [(point, link(point, site)) for point in going_live(site, request.today)]
    missing = [point for point, _ in points if point.is_missing]
    shown = {"points": points, "missing": missing, "form": form, "ways": ways_in_words(site)}
    return render(request, "training/grants/going_live.html", shown)


def link(point: GoingLivePoint, site: Site) -> str:
    """The page that does it; empty where the register has none."""
    try:
        return reverse(point.page, kwargs={"site": site.code}) if point.page else ""
    except NoReverseMatch:
        return ""
