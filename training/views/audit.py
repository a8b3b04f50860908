"""What an inspector would object to, what was done about it, and whether the record can be trusted."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Page
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.models import KeptElsewhere, Site
from clinic.permissions import May
from clinic.record import Refused
from clinic.rules.words import counted
from training.actions.findings import check_seals, correct, keep_elsewhere
from training.forms.audit import ActionForm, ElsewhereForm
from training.reads.audit import audit_page
from training.reads.findings.stored import findings, findings_shown
from training.rules.findings_closed import Weighed


@door(May.READ_SITE)
def audit(request: HttpRequest, site: Site) -> HttpResponse:
    page = audit_page(site, request.today, request.GET.get("page", 1))
    may_act = request.allowed.may(May.ROSTER, site)
    return render(request, "training/audit/audit.html", {"page": page, "may_act": may_act})


def choices(site: Site, request: HttpRequest) -> tuple[Sequence[Weighed], Page | None]:  # type: ignore[type-arg]
    """The open findings that the address names; where it names none, those of a page as the audit shows them."""
    named = request.GET.getlist("finding")
    found = [one for one in findings(site, request.today, keys=named) if one.is_open] if named else []
    if found:
        return found, None
    shown = findings_shown(site, request.today, request.GET.get("page", 1))
    return shown.open, shown.page


@door(May.ROSTER)
def action(request: HttpRequest, site: Site) -> HttpResponse:
    """What was done about one finding, or one reason for several notes."""
    shown, place = choices(site, request)
    offered = [(one.finding.key, one.finding.sentence) for one in shown]
    start: dict[str, Any] = {"done_by": request.allowed.person, "findings": request.GET.getlist("finding")}
    form = ActionForm(site, request.today, offered, request.POST or None, initial=start)
    if form.is_valid():
        data = form.cleaned_data
        who = {"site": site, "by": request.allowed.person, "id": form.fact_id}
        try:
            done = correct(data["findings"], data["done"], data["done_by"], **who)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"What was done about {counted(len(done), 'finding')} is recorded.")
            return redirect("training:audit", site=site.code)
    return render(request, "training/audit/action.html", {"form": form, "offered": offered, "place": place})


@require_POST
@door(May.READ_SITE)
def seals(request: HttpRequest, site: Site) -> HttpResponse:
    breaks = check_seals(site, by=request.allowed.person)
    if breaks:
        messages.error(
            request, f"{counted(len(breaks), 'seal')} broken: {breaks[0].says} (place {breaks[0].position})."
        )
    else:
        messages.success(request, "Every seal is whole.")
    return redirect("training:audit", site=site.code)


@door(May.ROSTER)
def elsewhere(request: HttpRequest, site: Site) -> HttpResponse:
    return saved_elsewhere(request, site, None)


@door(May.ROSTER)
def elsewhere_line(request: HttpRequest, site: Site, kept_elsewhere: UUID) -> HttpResponse:
    """A line that another stands in the place of is drawn no more; what is sent for it may be sent again."""
    rows = KeptElsewhere.objects.live() if request.method == "GET" else KeptElsewhere.objects.all()
    return saved_elsewhere(request, site, get_object_or_404(rows, site=site, pk=kept_elsewhere))


def saved_elsewhere(request: HttpRequest, site: Site, row: KeptElsewhere | None) -> HttpResponse:
    form = ElsewhereForm(row, request.POST or None)
    if form.is_valid():
        data = {name: form.cleaned_data[name] for name in ("what", "place", "keeper", "last_review")}
        more: dict[str, Any] = {"id": form.fact_id, "corrects": row.pk if row else None}
        try:
            saved = keep_elsewhere(**data, site=site, by=request.allowed.person, **more)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"Noted: {saved.what} is kept at {saved.place}.")
            return redirect("training:audit", site=site.code)
    return render(request, "training/audit/elsewhere.html", {"form": form, "row": row})
