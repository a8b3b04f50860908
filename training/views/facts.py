"""One fact: what every line of a page and of a binder leads back to."""

from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from clinic.doors import door
from clinic.models import Site
from clinic.permissions import May
from training.actions.binder import use_pass
from training.models import PassUsed
from training.reads.audit_facts import is_confidential, opens, pass_to_fact, readable
from training.reads.facts import all_links, fact_page, purged_by
from training.reads.facts import shown as sentences_of
from training.reads.putting_right import put_right


@door(May.OWN_RECORD, May.READ_SITE, May.READ_BINDER)
def fact(request: HttpRequest, site: Site, fact: UUID) -> HttpResponse:
    page = fact_page(site, fact)
    if page is None and (note := purged_by(site, fact)):
        return redirect("training:fact", site=site.code, fact=note.pk)  # what is left of it
    if page is None or not readable(request.allowed, site, page.fact, request.today):
        raise Http404("No such fact here, or not yours to read.")
    if used := pass_to_fact(request.allowed, site, page.fact, request.today):
        use_pass(used, PassUsed.What.FACT, page.fact.pk, by=request.allowed.person)
    confidential = is_confidential(page.fact)
    shown = {
        "page": page,
        "shown": sentences_of(site, page, opens(request.allowed, site, all_links(page), request.today)),
        "recorded": page.recorded(confidential),
        "right": put_right(request.allowed.person, page.fact, request.today) if works_here(request, site) else None,
    }
    return render(request, "training/facts/fact.html", shown)


def works_here(request: HttpRequest, site: Site) -> bool:
    """An inspector is told nothing of who may put what right."""
    return request.allowed.may(May.OWN_RECORD, site) or request.allowed.may(May.READ_SITE, site)
