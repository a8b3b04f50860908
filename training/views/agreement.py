"""A second supervisor's marks of the same performance, and how far two who watch the same work agree."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from clinic import lock
from clinic.answers import gone, kept_under, refusals_in, wants_data
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.models import Site
from clinic.permissions import May
from clinic.record import Refused
from training.actions.second_marking import mark_too
from training.forms.second_marking import SecondMarksForm, marked_steps
from training.models import Observation
from training.reads.agreement import agreement_page
from training.reads.bench import bench_procedures


@door(May.READ_SITE)
def agreement(request: HttpRequest, site: Site) -> HttpResponse:
    """Pairs of supervisors over the performances that both marked."""
    return render(request, "training/judging/agreement.html", {"page": agreement_page(site, request.today)})


@door(May.OBSERVE)
def second_marks(request: HttpRequest, site: Site, observation: Any) -> HttpResponse:
    """The steps of a performance again, without the first marks."""
    seen = get_object_or_404(Observation.objects.live().filter(site=site), pk=observation)
    lock.hold(request)
    [procedure] = bench_procedures([seen.version], site, seen.equipment)
    form = SecondMarksForm([marked_steps(seen, procedure)], request.POST or None)
    if form.is_valid():
        try:
            mark_too(seen, form.given(), by=request.allowed.person, id=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, "Recorded beside the first marks. Nobody’s standing changes by it.")
            return gone(request, reverse("training:observe", args=[site.code]))
    if request.method == "POST" and wants_data(request):
        return refusals_in(form)
    kept = kept_under(request, site, request.allowed.person, str(seen.person), f"{seen.version.procedure}, marked too")
    return render(request, "training/observe/second.html", {"seen": seen, "form": form, "kept": kept})
