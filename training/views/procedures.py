"""Procedures: the list with search, one procedure to study from, its check against the maker's instructions, retiring."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.models import Equipment, Site
from clinic.permissions import May
from clinic.record import Refused
from clinic.rules.words import short_day
from training.actions.versions import check_instructions, retire
from training.forms.procedures import InstructionsForm, RetireForm, SearchForm
from training.models import Draft, Procedure, Retirement, Version
from training.reads import procedures as reads
from training.reads.standing import sentence_on
from training.reads.teach import talks_waiting, tries_of
from training.rules.facts import State
from training.views.proving import known_as, proven_here


@door(May.OWN_RECORD, May.READ_SITE)
def procedures(request: HttpRequest, site: Site) -> HttpResponse:
    form = SearchForm(request.GET or None)
    words = form.cleaned_data["words"] if form.is_valid() else ""
    me, today = request.allowed.person, request.today
    rows = reads.procedure_list(site, me, today, words)
    mine = [] if words else [row for row in rows if row.state != State.UNTRAINED]  # what was found stands by area
    shown = {
        "form": form,
        "words": words,
        "rows": rows,
        "mine": mine,
        "ahead": [row for row in mine if row.state != State.CURRENT],
        "held": [row for row in mine if row.state == State.CURRENT],
        "areas": reads.by_area([row for row in rows if row not in mine]),
        "drafts": [row for row in rows if row.draft],
        "unchecked": [row for row in rows if row.version and not row.checked],
        "talks": talks_waiting(me, site, today) if request.allowed.may(May.OBSERVE, site) else [],
    }
    return render(request, "training/procedures/procedures.html", shown)


def procedure_of(site: Site, code: str) -> Procedure:
    found: Procedure = get_object_or_404(Procedure.objects.of(site.organisation), code=code)
    return found


@door(May.OWN_RECORD, May.READ_SITE)
def procedure(request: HttpRequest, site: Site, code: str) -> HttpResponse:
    """`?version=` shows another version, `?unit=` another unit."""
    row, me, today = procedure_of(site, code), request.allowed.person, request.today
    versions = reads.version_rows(row, today)
    shown = chosen(versions, request.GET.get("version", ""))
    known: dict[str, Any] = {"procedure": row, "versions": versions, "shown": shown, "draft": draft_of(row)}
    if shown is None:
        return render(request, "training/procedures/no_version.html", known)
    known |= {
        "study": reads.study_version(shown.version, site, today, me, unit_asked(request, site)),
        "in_force": next((each for each in versions if each.state == "in force"), None),
        "usable": reads.usable_here(row, site, today),
        "standing": sentence_on(me, row, today),
        "tries": tries_of(me, row),
        "retired": Retirement.objects.live().filter(procedure=row).first(),
    }
    return render(request, "training/procedures/procedure.html", known)


def chosen(versions: list[reads.VersionRow], number: str) -> reads.VersionRow | None:
    """The version asked for; else the one in force; else the newest. None where none was ever approved."""
    if number:
        found = next((row for row in versions if str(row.version.number) == number), None)
        if found is None:
            raise Http404("No such version.")
        return found
    return next((row for row in versions if row.state == "in force"), versions[0] if versions else None)


def draft_of(row: Procedure) -> Draft | None:
    return Draft.objects.filter(procedure=row).select_related("author").first()


def unit_asked(request: HttpRequest, site: Site) -> Equipment | None:
    """The unit that the address names; None for anything that is no unit of the site."""
    return next((unit for unit in reads.units_of(site, request.today) if str(unit.pk) == request.GET.get("unit")), None)


@door(May.ROSTER, May.SIGN, May.APPROVE)
def instructions(request: HttpRequest, site: Site, code: str) -> HttpResponse:
    """Whoever is signed in says that they held the version against the maker’s instructions."""
    row = procedure_of(site, code)
    version = version_asked(row, request.GET.get("version", ""))
    form = InstructionsForm(request.today, known_as(request), request.POST or None)
    if form.is_valid():
        said = form.cleaned_data
        try:
            by, proved = proven_here(request, site, form)
            check_instructions(
                version, said["title"], said["edition"], on=said["day"], site=site, by=by, proved=proved,
                id=form.fact_id,
            )  # fmt: skip
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(
                request, f"Recorded: version {version.number} was checked against the maker’s instructions."
            )
            return redirect("training:procedure", site=site.code, code=code)
    return render(
        request, "training/procedures/instructions.html", {"procedure": row, "version": version, "form": form}
    )


def version_asked(row: Procedure, number: str) -> Version:
    """The newest, unless the address names another."""
    rows = Version.objects.live().filter(procedure=row).order_by("-number")
    found = rows.filter(number=number).first() if number.isdecimal() else rows.first()
    if found is None:
        raise Http404("No version was approved yet.")
    return found


@door(May.APPROVE)
def retire_procedure(request: HttpRequest, site: Site, code: str) -> HttpResponse:
    row, form = procedure_of(site, code), RetireForm(request.today, request.POST or None)
    if form.is_valid():
        said = form.cleaned_data
        try:
            retire(row, said["day"], said["reason"], site=site, by=request.allowed.person, id=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(
                request, f"{row} is retired from {short_day(said['day'])}. Sign-offs live on to their last day."
            )
            return redirect("training:procedures", site=site.code)
    resting = reads.resting_on(row, request.today)
    return render(request, "training/procedures/retire.html", {"procedure": row, "form": form, "resting": resting})
