"""Find a person, a procedure, a unit, a certificate or a record by a few letters, from every page."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from clinic.doors import door
from clinic.models import Site
from clinic.permissions import May
from training.reads.find import find

LONGEST = 80


@door(May.READ_SITE, May.OWN_RECORD, May.DUTY, May.READ_BINDER)
def find_here(request: HttpRequest, site: Site) -> HttpResponse:
    """One thing is opened at once; several are listed; what somebody may not read is not found."""
    asked = request.GET.get("words", "")[:LONGEST].strip()
    found = find(request.allowed, site, asked, request.today)
    if len(found) == 1:
        return redirect(found[0].href)
    return render(request, "training/today/find.html", {"asked": asked, "found": found})
