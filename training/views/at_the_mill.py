"""Who is at the mill today: for everybody on duty, with no procedure to choose first."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from clinic.doors import door
from clinic.models import Site
from clinic.permissions import May
from training.reads.at_the_mill import at_the_mill


@door(May.DUTY, May.READ_SITE)
def mill_today(request: HttpRequest, site: Site) -> HttpResponse:
    return render(request, "training/today/at_the_mill.html", {"it": at_the_mill(site, request.today)})
