"""Asking for a binder, watching it being made, reading it, and letting an inspector read it."""

from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from clinic.doors import door, must
from clinic.forms.base import add_refusals
from clinic.models import Site
from clinic.permissions import Allowed, May
from clinic.record import Refused
from clinic.rules.words import short_day
from training.actions.binder import call_off, give_pass, request_binder, request_pack, take_back_pass, use_pass
from training.forms.audit import BinderForm, PassForm
from training.models import BinderJob, InspectorPass, Issue, PassUsed
from training.paper_key import is_on
from training.reads.audit_facts import passes_of, passes_used
from training.views.issued import issued_file, made_pack, pack_file

ENDED = (BinderJob.State.DONE, BinderJob.State.CALLED_OFF)  # of these nobody waits for anything


def readable(allowed: Allowed, site: Site) -> "QuerySet[Issue]":
    """Every binder of the site for whoever reads the site; otherwise those of one's passes, until their day."""
    binders = Issue.objects.filter(site=site, document=Issue.Kind.BINDER).order_by("-recorded_at")
    if allowed.may(May.READ_SITE, site):
        return binders
    return binders.filter(pk__in=passes_of(allowed.person, site, allowed.days[site.pk]).values("issue"))


def noted(request: HttpRequest, row: Issue, what: PassUsed.What) -> None:
    """Whoever reads by a pass leaves a fact that says so, before anything is shown."""
    if not request.allowed.may(May.READ_SITE, row.site):
        mine = passes_of(request.allowed.person, row.site, request.today).filter(issue=row)
        use_pass(mine.select_related("issue__site")[0], what, row.pk, by=request.allowed.person)


@door(May.READ_BINDER)
def binders(request: HttpRequest, site: Site) -> HttpResponse:
    form = BinderForm(site, request.today, request.POST or None)
    if request.method == "POST":
        must(request, May.READ_SITE)
        if form.is_valid():
            try:
                job = request_binder(site, **form.wanted, by=request.allowed.person, id=form.fact_id)
            except Refused as refused:
                add_refusals(form, refused)
            else:
                return redirect("training:binder_job", site=site.code, binder_job=job.pk)
    rows = readable(request.allowed, site).defer("frozen")  # the whole content of each, of which the list shows nothing
    page = Paginator(rows.prefetch_related("jobs"), 20).get_page(request.GET.get("page"))
    waiting = BinderJob.objects.filter(site=site).exclude(state__in=ENDED).select_related("pack_of")[:10]
    may_ask = request.allowed.may(May.READ_SITE, site)
    shown = {"form": form, "page": page, "waiting": waiting if may_ask else [], "may_ask": may_ask}
    return render(request, "training/binders/binders.html", shown)


@door(May.READ_SITE)
def job(request: HttpRequest, site: Site, binder_job: UUID) -> HttpResponse:
    """How far it is, asked again by `progress.js` until the binder is made or could not be. Whoever may ask for one may call
    one off."""
    must(request, May.READ_BINDER)
    row = get_object_or_404(BinderJob, site=site, pk=binder_job)
    if request.method == "POST":
        call_off(row, by=request.allowed.person)
        return redirect("training:binder_job", site=site.code, binder_job=row.pk)
    return render(request, "training/binders/job.html", {"job": row, "running": row.runs})


@door(May.READ_BINDER)
def binder(request: HttpRequest, site: Site, issue: UUID) -> HttpResponse:
    row = get_object_or_404(readable(request.allowed, site), pk=issue)
    noted(request, row, PassUsed.What.BINDER)
    may_pass = request.allowed.may(May.APPOINT, site) or request.allowed.may(May.ROSTER, site)
    form = PassForm(site, request.today, request.POST or None) if may_pass else None
    return render(request, "training/binders/binder.html", shown(request, row, form))


def shown(request: HttpRequest, row: Issue, form: PassForm | None) -> dict[str, object]:
    passes = passes_used(row.site).filter(issue=row) if form else []
    return {
        "issue": row,
        "pack": made_pack(row),
        "content": row.frozen["content"],
        "facts": len(row.frozen["facts"]),
        "form": form,
        "passes": passes,
        "handed_over_signed": is_on(),
    }


@require_POST
@door(May.ROSTER, May.APPOINT)
def binder_pass(request: HttpRequest, site: Site, issue: UUID) -> HttpResponse:
    row = get_object_or_404(readable(request.allowed, site), pk=issue)
    form = PassForm(site, request.today, request.POST)
    if form.is_valid():
        try:
            given = give_pass(row, **form.cleaned_data, site=site, by=request.allowed.person)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"{given.person} may read it through {short_day(given.until)}.")
            return redirect("training:binder", site=site.code, issue=row.pk)
    return render(request, "training/binders/binder.html", shown(request, row, form))


@require_POST
@door(May.ROSTER, May.APPOINT)
def pass_end(request: HttpRequest, site: Site, inspector_pass: int) -> HttpResponse:
    """From now on it opens nothing."""
    row = get_object_or_404(InspectorPass.objects.filter(issue__site=site), pk=inspector_pass)
    take_back_pass(row, site=site, by=request.allowed.person)
    messages.success(request, f"The pass of {row.person} is taken back. It opens nothing from now on.")
    return redirect("training:binder", site=site.code, issue=row.issue_id)


@door(May.READ_BINDER)
def binder_pdf(request: HttpRequest, site: Site, issue: UUID) -> HttpResponse:
    """The kept copy; where there is none, it is drawn again from the frozen content, byte for byte the same."""
    row = get_object_or_404(readable(request.allowed, site), pk=issue)
    noted(request, row, PassUsed.What.PAPER)
    return issued_file(request, row)


@door(May.READ_SITE)
def binder_pack(request: HttpRequest, site: Site, issue: UUID) -> HttpResponse:
    """Its evidence, for whoever reads the site to hand over. A pass opens the binder and its records, one by one, and no more."""
    must(request, May.READ_BINDER)
    row = get_object_or_404(readable(request.allowed, site), pk=issue)
    if request.method == "POST":
        return ask_for_pack(request, row)
    made = made_pack(row)
    if made is None:
        messages.info(
            request, "No packed evidence of this binder is kept: it stays for a week. It can be packed anew below."
        )
        return redirect("training:binder", site=site.code, issue=row.pk)
    return pack_file(made, row)


def ask_for_pack(request: HttpRequest, row: Issue) -> HttpResponse:
    try:
        job = request_pack(row, by=request.allowed.person)
    except Refused as refused:
        messages.error(request, str(refused))
        return redirect("training:binder", site=row.site.code, issue=row.pk)
    return redirect("training:binder_job", site=row.site.code, binder_job=job.pk)
