"""One fact: what every line of a page and of a binder leads back to."""

from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from clinic.doors import door
from clinic.models import Site
from clinic.permissions import May
from training.reads.audit_facts import is_confidential, readable
from training.reads.facts import fact_page
from training.views.correcting import may_take_back, who_puts_right


@door(May.OWN_RECORD, May.READ_SITE, May.READ_BINDER)
def fact(request: HttpRequest, site: Site, fact: UUID) -> HttpResponse:
    page = fact_page(site, fact)
    if page is None or not readable(request.allowed, site, page.fact, request.today):
        raise Http404("No such fact here, or not yours to read.")
    shown = {
        "page": page,
        "confidential": is_confidential(page.fact),
        "may_take_back": may_take_back(request, page.fact),
        "who_puts_right": "" if is_confidential(page.fact) else who_puts_right(page.fact),
    }
    return render(request, "training/facts/fact.html", shown)
