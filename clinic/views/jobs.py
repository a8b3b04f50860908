"""Jobs at a milling unit: started from the block, ended with how they came out, listed and counted."""

from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from clinic import lock
from clinic.actions.jobs import EndAsked, JobAsked, end_job, start_job
from clinic.answers import gone, kept_under, refusals_in, wants_data
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.forms.jobs import EndForm, StartJobForm
from clinic.models import Equipment, JobStarted, Site
from clinic.permissions import May
from clinic.port import code_of, procedure_on, usable_people
from clinic.reads.jobs import counts, crashes_of, jobs_of, running_on, said
from clinic.reads.site_answers import answers_at
from clinic.reads.tools import mounted_in, tools_now
from clinic.record import Refused
from clinic.rules.roles import ProcedureRole
from clinic.views.equipment import unit_of

JOBS_A_PAGE = 7  # of five lines each: little more than a screen of a tablet


@door(May.DUTY)
def start(request: HttpRequest, site: Site, equipment: UUID) -> HttpResponse:
    unit, me = unit_of(site, equipment), request.allowed.person
    answers, last = answers_at(site, unit), jobs_of(site, unit).first()
    lock.hold(request)
    code_says = answers["factor code"].value if "factor code" in answers else ""
    form = StartJobForm(site, request.today, me, last, code_says, request.POST or None)
    if form.is_valid():
        try:
            made, warnings = start_job(asked_of(form, unit), site=site, by=me, id=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"Case {made.case} runs on {unit}. Stay for its first minutes.")
            for warning in warnings:
                messages.warning(request, warning)
            return gone(request, reverse("clinic:end_job", args=[site.code, made.pk]))
    if request.method == "POST" and wants_data(request):
        return refusals_in(form)
    return render(request, "clinic/jobs/start.html", beside(request, site, unit, form, answers))


def beside(request: HttpRequest, site: Site, unit: Equipment, form: StartJobForm, answers: object) -> dict[str, object]:
    """What stands beside the form: what runs, what sits there, who may, and the procedure."""
    me = request.allowed.person
    return {
        "form": form,
        "unit": unit,
        "kept": kept_under(request, site, me, unit.label, "Job"),
        "running": running_on(unit),
        "sitting": mounted_in(unit, tools_now(site, request.today)),
        "crashes": crashes_of(unit)[:3],
        "procedure": procedure_on(site.organisation, form.code, request.today, answers),  # type: ignore[arg-type]
        "i_may": me.pk in usable_people(site.organisation, form.code, request.today),
    }


def asked_of(form: StartJobForm, unit: Equipment) -> JobAsked:
    said_there = form.cleaned_data
    return JobAsked(
        unit, said_there["lot"], said_there["case"], said_there["way"] == "wet", said_there["factor"], form.stood_by_person,
        said_there["day"], said_there.get("block_code", ""),
    )  # fmt: skip


@door(May.DUTY)
def end(request: HttpRequest, site: Site, job_started: UUID) -> HttpResponse:
    """How it came out; also that what was good has to be made again after all."""
    known = JobStarted.objects.live().select_related("equipment", "lot", "done_by", "stood_by", "site")
    job, me = get_object_or_404(known, pk=job_started, site=site), request.allowed.person
    lock.hold(request)
    form = EndForm(request.today, job, request.POST or None)
    if form.is_valid():
        try:
            made = end_job(end_of(form), site=site, by=me, id=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"Case {job.case}: {made.get_outcome_display().lower()}.")
            if made.outcome == "crash":
                messages.warning(request, "After a crash nothing moves before every piece is found: stop the unit.")
            return gone(request, reverse("clinic:unit_jobs", args=[site.code, job.equipment_id]))
    if request.method == "POST" and wants_data(request):
        return refusals_in(form)
    kept = kept_under(request, site, me, job.equipment.label, "End of a job")
    code = code_of(site.organisation, ProcedureRole.MILLING)
    procedure = procedure_on(site.organisation, code, request.today, answers_at(site, job.equipment))
    shown = {"form": form, "it": said(site, [job])[0], "unit": job.equipment, "kept": kept, "procedure": procedure}
    return render(request, "clinic/jobs/end.html", shown)


def end_of(form: EndForm) -> EndAsked:
    values = form.cleaned_data
    return EndAsked(
        form.job, form.outcome_said, values["cause"], values["parts"], values["minutes"], values["note"], values["day"]
    )


@door(May.DUTY, May.READ_SITE)
def jobs(request: HttpRequest, site: Site) -> HttpResponse:
    """Every job of the site, and what those of a year come to."""
    return listed_jobs(request, site, None)


@door(May.DUTY, May.READ_SITE)
def unit_jobs(request: HttpRequest, site: Site, equipment: UUID) -> HttpResponse:
    return listed_jobs(request, site, unit_of(site, equipment))


def listed_jobs(request: HttpRequest, site: Site, unit: Equipment | None) -> HttpResponse:
    page = Paginator(jobs_of(site, unit), JOBS_A_PAGE).get_page(request.GET.get("page"))
    shown = {"page": page, "jobs": said(site, page.object_list), "unit": unit}
    return render(request, "clinic/jobs/list.html", shown | {"counts": counts(site, request.today, unit)})
