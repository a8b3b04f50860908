"""What job roles need."""

from collections import defaultdict

from django.contrib import messages
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from clinic.actions.people import job_role
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.forms.roster import LastDay
from clinic.models import Site
from clinic.permissions import May
from clinic.record import Refused, only_if_allowed
from clinic.rights import against_change
from clinic.rules.words import counted, short_day
from training.actions.requirements import apply_role_set, end_requirement, require
from training.forms.requirements import ApplySet, NewRequirement
from training.models import Requirement


def at(site: Site) -> QuerySet[Requirement]:
    here = Requirement.objects.at(site).filter(job_role__organisation=site.organisation_id)
    return here.select_related("job_role", "procedure", "site").order_by("job_role__title", "procedure__code", "pk")


def everywhere(request: HttpRequest) -> bool:
    return all(request.allowed.may(May.DRAFT, each) for each in request.allowed.every_site)


@door(May.DRAFT)
def requirements(request: HttpRequest, site: Site) -> HttpResponse:
    """By job role; what is over is left out, what is still to come is not."""
    by_role: dict[str, list[Requirement]] = defaultdict(list)
    for row in at(site).filter(Q(to_day__isnull=True) | Q(to_day__gte=request.today)):
        by_role[row.job_role.title].append(row)
    return render(request, "training/requirements/requirements.html", {"by_role": dict(by_role)})


@door(May.DRAFT)
def requirement_new(request: HttpRequest, site: Site) -> HttpResponse:
    start = {"from_day": request.today, "job_role": request.GET.get("role", "")}
    form = NewRequirement(site, request.POST or None, everywhere=everywhere(request), initial=start)
    if form.is_valid():
        data, by = form.cleaned_data, request.allowed.person
        where = site if data["here_only"] else None
        try:
            role = job_role(site.organisation, data["job_role"], at=site, by=by)
            row = require(role, data["procedure"], data["from_day"], data["days_allowed"], site=where, at=site, by=by)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"{row} from {short_day(row.from_day)}, {within(row)}.")
            return redirect("training:requirements", site=site.code)
    return render(request, "training/requirements/requirement_new.html", {"form": form})


def within(row: Requirement) -> str:
    return f"within {counted(row.days_allowed, 'day')}" if row.days_allowed else "on the first day"


@door(May.DRAFT)
def role_set(request: HttpRequest, site: Site) -> HttpResponse:
    form = ApplySet(site, request.POST or None, everywhere=everywhere(request), initial={"from_day": request.today})
    if form.is_valid():
        data = form.cleaned_data
        role = job_role(site.organisation, data["job_role"], at=site, by=request.allowed.person)
        made = apply_role_set(
            form.codes, role, site.organisation, data["from_day"], days_allowed=data["days_allowed"],
            site=site if data["here_only"] else None, at=site, by=request.allowed.person,
        )  # fmt: skip
        messages.success(request, said(role.title, [row.procedure.code for row in made]))
        return redirect("training:requirements", site=site.code)
    return render(request, "training/requirements/role_set.html", {"form": form})


def said(title: str, codes: list[str]) -> str:
    return (
        f"{title} now needs {', '.join(codes)} as well."
        if codes
        else f"{title} needs all of that already; nothing changed."
    )


@door(May.DRAFT)
def requirement_end(request: HttpRequest, site: Site, requirement: int) -> HttpResponse:
    row = get_object_or_404(at(site), pk=requirement)
    only_if_allowed(against_change(request.allowed.person, row, site))
    form = LastDay(
        request.POST or None, button="End this requirement", first=row.from_day, initial={"to_day": request.today}
    )
    if form.is_valid():
        end_requirement(row, form.cleaned_data["to_day"], at=site, by=request.allowed.person)
        messages.success(request, f"{row}: needed through {short_day(row.to_day)}, and no longer.")
        return redirect("training:requirements", site=site.code)
    return render(request, "training/requirements/requirement_end.html", {"form": form, "row": row})
