"""Who may do this now: for everybody on duty, one tap from every page."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from clinic.doors import door
from clinic.models import Site
from clinic.permissions import May
from training.reads.who_may import choices, who_may_do, who_may_each


@door(May.DUTY, May.READ_SITE)
def who_may(request: HttpRequest, site: Site) -> HttpResponse:
    """The procedure comes from the address, so that the answer can be passed on. Without one, all of them at once."""
    procedures = choices(site, request.today)
    chosen = next((p for p in procedures if p.code == request.GET.get("procedure")), None)
    people = who_may_do(site, chosen, request.today) if chosen else []
    here = [one for one in people if one.here]
    shown: dict[str, Any] = {
        "procedures": procedures,
        "chosen": chosen,
        "here": here,
        "away": [one for one in people if not one.here],
    }
    shown["each"] = [] if chosen else who_may_each(site, procedures, request.today)
    shown["nobody"] = [one for one in shown["each"] if not one.people]
    return render(request, "training/today/who_may.html", shown)
