"""What an observation amounted to, and what it asks for."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode

from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.models import Site, UpkeepTask
from clinic.permissions import May
from clinic.record import Refused
from training.actions.observe import answer_miss
from training.forms.signing import WhyNot
from training.models import Observation
from training.reads import observed as reads
from training.reads.putting_right import PutRight, put_right
from training.rights import against_correcting_marks
from training.rules.facts import Method, Outcome
from training.rules.wording import METHODS


def readable(request: HttpRequest, site: Site, pk: object) -> Observation:
    """An observation of this site about somebody whose record may be read."""
    people = request.allowed.people(site)
    return get_object_or_404(Observation.objects.filter(site=site, person__in=people), pk=pk)


@door(May.READ_SITE, May.OWN_RECORD)
def observed(request: HttpRequest, site: Site, observation: object) -> HttpResponse:
    """Outcome per procedure with its reasons; a critical miss asks at once; upkeep may be logged; a ready one be signed."""
    first = readable(request, site, observation)
    rows = reads.seen_together(first) or [first]
    follows = reads.what_follows(rows, request.today)
    seen = [(each, logs(site, each), *to_put_right(request, each.observation)) for each in follows]
    all_met = all(row.outcome == Outcome.MET for row in rows)
    return render(
        request, "training/observe/observed.html", about(request, site, rows[0]) | {"seen": seen, "all_met": all_met}
    )


def to_put_right(request: HttpRequest, seen: Observation) -> tuple[PutRight, bool]:
    """How it is taken back, and whether whoever looks may give its marks again."""
    me = request.allowed.person
    return put_right(me, seen, request.today), against_correcting_marks(me, seen) is None


def about(request: HttpRequest, site: Site, first: Observation) -> dict[str, Any]:
    """What is the same for every procedure that the performance was marked against."""
    return {
        "first": first,
        "form": WhyNot(),
        "method_words": METHODS[Method(first.method)],
        "said": reads.said_of(first),
        "again": f"{reverse('training:observe_start', args=[site.code])}?{urlencode({'person': str(first.person_id)})}",
    }


def logs(site: Site, each: reads.ObservationShown) -> list[tuple[UpkeepTask, str]]:
    return [(task, log_address(site, each.observation, task.code)) for task in each.tasks]


def log_address(site: Site, seen: Observation, task: str) -> str:
    """Where this upkeep is logged, already filled in with who did it, when, and who was there."""
    page = reverse("clinic:log_entry", args=[site.code, seen.equipment_id, task])
    known = {
        "done_by": seen.person_id,
        "stood_by": seen.observer_id or "",
        "day": seen.happened_on,
        "from_observation": seen.pk,
    }
    return f"{page}?{urlencode({name: str(value) for name, value in known.items()})}"


@door(May.SIGN)
def miss(request: HttpRequest, site: Site, observation: object) -> HttpResponse:
    """Why a critical miss by a usable person does not end the sign-off."""
    seen = readable(request, site, observation)
    form = WhyNot(request.POST or None)
    if form.is_valid():
        try:
            answer_miss(seen, form.cleaned_data["reason"], site=site, by=request.allowed.person, id=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, "Recorded: the sign-off stands, and why.")
            return redirect("training:observed", site=site.code, observation=seen.pk)
    return render(request, "training/observe/miss.html", {"seen": seen, "form": form})
