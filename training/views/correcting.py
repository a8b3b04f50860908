"""Putting right: the marks of an observation again, and a fact taken back. Nothing is edited; a later fact names the earlier."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from clinic.doors import door
from clinic.facts import row_of
from clinic.forms.base import add_refusals
from clinic.models import Fact, Seal, Site
from clinic.permissions import May
from clinic.record import Refused, only_if_allowed
from clinic.rights import against_putting_right
from training.actions import putting_right as acts
from training.actions.observe import Performance
from training.forms.observe import CorrectionForm
from training.forms.signing import TakeBackForm
from training.models import Observation
from training.reads import bench
from training.rights import against_correcting_marks
from training.views.proving import known_as, proven_here


@door(May.OWN_RECORD, May.SIGN, May.ROSTER, May.APPROVE)
def take_back(request: HttpRequest, site: Site, fact: Any) -> HttpResponse:
    """A fact that should not stand: a later one names it and says why."""
    row = fact_of(site, fact)
    only_if_allowed(against_putting_right(request.allowed.person, row))
    form = TakeBackForm(known_as(request), request.POST or None)
    if form.is_valid():
        try:
            who, proved = proven_here(request, site, form)
            acts.take_back(row, form.cleaned_data["reason"], by=who, proved=proved, id=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, "Taken back. The record keeps both, with the reason.")
            return redirect("training:fact", site=site.code, fact=row.pk)
    known = {"fact": row, "kind": row._meta.verbose_name, "form": form}
    return render(request, "training/sign/take_back.html", known)


def fact_of(site: Site, pk: Any) -> Fact:
    seal = get_object_or_404(Seal, site=site, fact=pk)
    row = row_of(seal.kind, seal.fact)
    if not isinstance(row, Fact):
        raise Http404("No such fact here.")
    return row


@door(May.OBSERVE)
def correct(request: HttpRequest, site: Site, observation: Any) -> HttpResponse:
    """The marks again, with the reason. The first observation stays on record and no longer counts."""
    seen = get_object_or_404(Observation.objects.filter(site=site).select_related("version__procedure"), pk=observation)
    only_if_allowed(against_correcting_marks(request.allowed.person, seen))
    steps = bench.bench_procedures([seen.version], site, seen.equipment)
    form = CorrectionForm(seen, steps, known_as(request), request.POST or None)
    if form.is_valid():
        try:
            who, proved = proven_here(request, site, form)
            row = acts.correct_marks(corrected(seen, form), form.marks(), by=who, proved=proved)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, "Corrected. The outcome is worked out again from the marks.")
            return redirect("training:observed", site=site.code, observation=row.pk)
    return render(request, "training/observe/correct.html", {"seen": seen, "form": form})


def corrected(seen: Observation, form: CorrectionForm) -> Performance:
    said = form.cleaned_data
    return Performance(
        id=form.fact_id, site=seen.site, person=seen.person, purpose=seen.purpose, method=seen.method, started_at=seen.started_at,
        finished_at=seen.finished_at, observer=seen.observer, witness=seen.witness, equipment=seen.equipment, pauses=seen.pauses,
        sheet=seen.sheet, language=seen.language, stopped=said["stopped"], stop_reason=said["stop_reason"], notes=said["notes"],
        own_word=said["own_word"], own_words=said["own_words"], corrects=seen.pk, reason=said["reason"],
    )  # fmt: skip
