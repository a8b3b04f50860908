"""What the practice's owner asks first."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from clinic.doors import door
from clinic.models import Site
from clinic.permissions import May
from training.reads.keeping import keeping
from training.reads.owner import owner_page


@door(May.ROSTER)
def owner(request: HttpRequest, site: Site) -> HttpResponse:
    """Findings by weight, what hangs on one person, and whether the record is safe."""
    return render(request, "training/owner/owner.html", {"page": owner_page(request.allowed, site, request.today)})


@door(May.ROSTER)
def what_is_kept(request: HttpRequest, site: Site) -> HttpResponse:
    """What is kept, how long, and by which rule; what is kept elsewhere; and the days that it comes to for whoever left."""
    return render(request, "training/owner/keeping.html", {"page": keeping(site, request.today)})
