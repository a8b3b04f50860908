"""How a site writes and prints, changed on a page."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from clinic.actions.sites import change_ways
from clinic.doors import door
from clinic.forms.site import SiteWays
from clinic.models import Site
from clinic.permissions import May
from clinic.site_ways import ways_in_words


@door(May.ROSTER)
def site_ways(request: HttpRequest, site: Site) -> HttpResponse:
    form = SiteWays(site, request.POST or None)
    if form.is_valid():
        change_ways(site, form.cleaned_data, by=request.allowed.person)
        messages.success(request, ways_in_words(site))
        return redirect("clinic:site_ways", site=site.code)
    return render(request, "clinic/roster/site_ways.html", {"form": form, "said": ways_in_words(site)})
