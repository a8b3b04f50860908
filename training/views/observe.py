"""Observe: choose what is watched, mark it at the bench, and see what it amounts to."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode

from clinic import clock, lock
from clinic.answers import gone, refusals_in, wants_data
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.models import Equipment, Site
from clinic.permissions import May
from clinic.reads.stops import why_stopped
from clinic.record import Refused
from clinic.tablet import unit_of_tablet
from training.actions.observe import Performance, record_observations
from training.forms.observe import MYSELF, Begun, MarksForm, Setup, StartObservationForm, begun, performance_id
from training.models import Observation, Version
from training.reads import bench as reads
from training.reads.agreement import to_mark_too
from training.reads.likely import likely
from training.reads.watched import will_not_count
from training.rules.watchers import will_not_count_words
from training.rules.wording import codes_in_runs


@door(May.OBSERVE)
def start(request: HttpRequest, site: Site) -> HttpResponse:
    """Person, procedures, unit, purpose and method; then the bench."""
    versions = list(reads.observable(request.allowed.person, site, request.today))
    chosen, me = preset(request, site, versions), request.allowed.person
    form = StartObservationForm(me, site, request.today, request.POST or None, initial=chosen)
    if form.is_valid():
        return redirect(f"{reverse('training:bench', args=[site.code])}?{urlencode({'setup': form.setup().token})}")
    card = None if form.is_bound else likely(me, site, request.today, versions, chosen)
    known = {
        "form": form,
        "card": card,
        "stopped": why_stopped(card.unit, request.today) if card and card.unit else "",
        "versions": versions,
        "counts": counts(versions, reads.units(site, request.today)),
        "will_not_count": warning(request, site, versions),
        "to_mark_too": to_mark_too(me, site, request.today),
    }
    return render(request, "training/observe/start.html", known)


def warning(request: HttpRequest, site: Site, versions: list[Version]) -> str:
    """In which of them, or of those that the address chooses, the watching of whoever opens the page will not count today."""
    asked, me = request.GET.getlist("procedure"), request.allowed.person
    about = [row.procedure for row in versions if not asked or row.procedure.code in asked]
    return will_not_count_words(str(me), will_not_count(me, site, request.today, about))


def preset(request: HttpRequest, site: Site, versions: list[Version]) -> dict[str, Any]:
    """What the address already chooses: ?person= and any number of ?procedure=P06."""
    chosen = {name: request.GET[name] for name in ("person", "equipment", "purpose", "method") if name in request.GET}
    codes = request.GET.getlist("procedure")
    at = unit_of_tablet(request, site)
    return {
        "equipment": at and at.pk,
        "procedures": [row.pk for row in versions if row.procedure.code in codes],
        "watched_by": MYSELF,
    } | chosen


def counts(versions: Iterable[Version], units: Iterable[Equipment]) -> dict[str, Any]:
    """For the script of the page: which ways count for an assessment of each procedure, and which units it is about."""
    return {
        "methods": {str(row.pk): sorted(reads.counting_methods(row)) for row in versions},
        "titles": {str(row.pk): str(row.procedure) for row in versions},
        "kinds": {str(row.pk): row.procedure.equipment_kind for row in versions},
        "units": {str(row.pk): row.kind for row in units},
    }


@door(May.OBSERVE)
def bench(request: HttpRequest, site: Site) -> HttpResponse:
    """Every step with its marks. Sent by the script as data, or by the plain page; both record the same."""
    setup = Setup.of(request.GET.get("setup", ""))
    here = begun(setup, site) if setup else None
    if here is None:
        messages.error(request, "No observation was begun under this address. Choose who is watched, and begin.")
        return redirect("training:observe_start", site=site.code)
    lock.hold(request)
    form = MarksForm(here.procedures, request.POST or None)
    if form.is_valid():
        try:
            return sent(request, site, recorded(request, here, form))
        except Refused as refused:
            add_refusals(form, refused)
    if request.method == "POST" and wants_data(request):
        return refusals_in(form)
    known = {
        "here": here,
        "form": form,
        "stopped": why_stopped(here.equipment, request.today) if here.equipment else "",
        "plain": plain(request, here),
        "will_not_count": counts_not(here, request.today),
    }
    return render(request, "training/observe/bench.html", known)


def counts_not(here: Begun, today: date) -> str:
    """The codes of an assessment that will not count because of who watches; empty for practice and outside witnesses."""
    if here.witness or not here.is_assessment:
        return ""
    about = [each.version.procedure for each in here.procedures]
    return codes_in_runs(will_not_count(here.observer, here.site, today, about))


def sent(request: HttpRequest, site: Site, first: Observation) -> HttpResponse:
    return gone(request, reverse("training:observed", args=[site.code, first.pk]))


def recorded(request: HttpRequest, here: Begun, form: MarksForm) -> Observation:
    """The first observation of the performance, recorded now or by an earlier sending."""
    if request.allowed.person != here.observer:
        raise PermissionDenied(f"{here.observer} began this observation. Sign in as {here.observer} to send it.")
    return record_observations(performance(here, form), form.marks(), by=here.observer)[0]


def performance(here: Begun, form: MarksForm) -> Performance:
    said, id = form.cleaned_data, performance_id(here.setup)
    earlier = Observation.objects.filter(performance=id).first()
    return Performance(
        id=id,
        site=here.site,
        person=here.person,
        purpose=here.setup.purpose,
        method=here.setup.method,
        started_at=here.started_at,
        finished_at=said["finished_at"] or (earlier.finished_at if earlier else clock.now()),
        observer=None if here.witness else here.observer,
        witness=here.witness,
        equipment=here.equipment,
        pauses=said["pauses"],
        stopped=said["stopped"],
        stop_reason=said["stop_reason"],
        notes=said["notes"],
        own_word=said["own_word"],
        own_words=said["own_words"],
    )


def plain(request: HttpRequest, here: Begun) -> dict[str, Any]:
    """What the script needs, as data."""
    return {
        "id": here.setup.performance,
        "site": here.site.code,
        "observer": here.setup.observer,
        "address": request.get_full_path(),
        "who": here.person.printed_name,
        "now": clock.now().isoformat(),
        "startedAt": here.setup.started_at,
        "procedures": [each.plain() for each in here.procedures],
        "unlock": f"{reverse('clinic:unlock')}?{urlencode({'next': request.get_full_path()})}",
    }
