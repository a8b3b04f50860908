"""Putting right: the marks of an observation again, and a fact taken back. Nothing is edited; a later fact names the earlier."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.models import Fact, Seal, Site
from clinic.permissions import May
from clinic.record import Refused
from clinic.seals import row_of
from training.actions import putting_right as acts
from training.actions.observe import Performance
from training.forms.observe import CorrectionForm
from training.forms.signing import TakeBackForm
from training.models import Observation
from training.reads import bench
from training.views.proving import known_as, proven_here

# What may be taken back, and which verb lets somebody else than its recorder do it.
WHO_ELSE: dict[str, May] = {
    "training.observation": May.SIGN,
    "training.knowledgeresult": May.SIGN,
    "training.signoff": May.SIGN,
    "training.independentmarking": May.SIGN,
    "training.withdrawal": May.SIGN,
    "training.criticalmissanswer": May.SIGN,
    "training.talkedthrough": May.SIGN,
    "training.taughtsession": May.ROSTER,
    "training.carriedover": May.ROSTER,
    "training.correctiveaction": May.ROSTER,
    "clinic.upkeepentry": May.ROSTER,
    "clinic.use": May.ROSTER,
    "clinic.safeguard": May.ROSTER,
    "clinic.openingreading": May.ROSTER,
    "clinic.resultread": May.ROSTER,
    "clinic.entryphoto": May.ROSTER,
    "clinic.closure": May.ROSTER,
    "clinic.outofservice": May.ROSTER,
    "clinic.returntoservice": May.ROSTER,
    "clinic.steriliserevent": May.ROSTER,
    "clinic.verification": May.ROSTER,
    "clinic.driverdetails": May.ROSTER,
    "clinic.referencedetails": May.ROSTER,
    "clinic.tasksetting": May.ROSTER,
    "clinic.makerspair": May.ROSTER,
    "clinic.toolmounted": May.ROSTER,
    "clinic.toolremoved": May.ROSTER,
    "clinic.factorentered": May.ROSTER,
    "clinic.chemicallisted": May.ROSTER,
    "clinic.chemicalgone": May.ROSTER,
    "clinic.coolantbands": May.ROSTER,
    "clinic.waterlimit": May.ROSTER,
    "clinic.unitchanged": May.ROSTER,
    "clinic.sitefactvalue": May.ROSTER,
    "clinic.sitesetting": May.ROSTER,
    "clinic.keptelsewhere": May.ROSTER,
    "training.authority": May.APPOINT,
    "training.foundinggrant": May.APPOINT,
}
# Kinds that are put right another way, and how.
OTHERWISE: dict[str, str] = {
    "clinic.followup": "It goes with the reading that opened it: take that back.",
    "clinic.voiding": "What was taken back stays so. What should stand again is recorded again.",
    "clinic.change": "Change the row again: the record keeps both.",
    "clinic.accountrecovery": "Ask for the recovery again: the record keeps both.",
    "clinic.incident": "What should be added or put right is said in its review.",
    "clinic.incidentreview": "Review it again: the record keeps both.",
    "training.version": "Approve a new version.",
    "training.instructionscheck": "Check the version against the instructions again.",
    "training.retirement": "Approve a new version of the procedure.",
    "training.issue": "Issue it again: the new one names the one it replaces.",
    "training.signature": "It goes with the record that it signs.",
}
BY_VERB = {May.SIGN: "signs here", May.ROSTER: "keeps the roster here", May.APPOINT: "appoints here"}
WHOM_TO_ASK = "Whoever recorded it takes it back, or somebody who signs here. Ask one of them."


def may_take_back(request: HttpRequest, fact: Fact) -> bool:
    """What one recorded oneself, or by the verb for its kind; never what is recorded about oneself: a failed try at a
    check would be gone by one's own word."""
    verb = WHO_ELSE.get(fact.fact_kind())
    if verb is None:
        return False
    me = request.allowed.person.pk
    if getattr(fact, "person_id", None) == me:
        return False
    return fact.recorded_by_id == me or request.allowed.may(verb, request.site)


def who_puts_right(fact: Fact) -> str:
    """Who takes the fact back, or what is done instead."""
    kind = fact.fact_kind()
    if kind not in WHO_ELSE:
        return OTHERWISE.get(kind, "")
    by = f"{fact.recorded_by}, who recorded it," if fact.recorded_by else "Whoever recorded it"
    return f"{by} takes it back, or somebody who {BY_VERB[WHO_ELSE[kind]]}."


@door(May.OWN_RECORD, May.SIGN, May.ROSTER)
def take_back(request: HttpRequest, site: Site, fact: Any) -> HttpResponse:
    """A fact that should not stand: a later one names it and says why."""
    row = fact_of(site, fact)
    if not may_take_back(request, row):
        raise PermissionDenied(WHOM_TO_ASK)
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
    if request.allowed.person.pk not in (seen.observer_id, seen.recorded_by_id):
        raise PermissionDenied("Whoever watched or recorded it corrects its marks. Ask them.")
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
        language=seen.language, stopped=said["stopped"], stop_reason=said["stop_reason"], notes=said["notes"],
        own_word=said["own_word"], own_words=said["own_words"], corrects=seen.pk, reason=said["reason"],
    )  # fmt: skip
