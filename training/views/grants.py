"""Authority and founding grants: who may observe and sign what here, and how the chain of signing starts."""

from datetime import timedelta
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.models import Site
from clinic.permissions import May
from clinic.record import Refused
from clinic.rules.words import short_day
from training.actions.grants import end_authority, found, grant_authority, not_usable_in
from training.forms.grants import EndAuthority, FoundingForm, GrantAuthority
from training.models import Authority, FoundingGrant
from training.reads.consequences import authority_consequences
from training.rules.watchers import watching_counts_words
from training.views.proving import known_as, proven_here

ELEVEN_MONTHS = timedelta(days=330)


@door(May.APPOINT)
def authorities(request: HttpRequest, site: Site) -> HttpResponse:
    """Those that hold or will, then those that are over."""
    rows = [
        *Authority.objects.live().filter(site=site).select_related("person"),
        *FoundingGrant.objects.live().filter(site=site).select_related("person"),
    ]
    rows.sort(key=lambda row: (row.person.family_name, row.person.given_name, row.happened_on, str(row.pk)))
    over = [row for row in rows if row.to_day and row.to_day < request.today]
    shown = {"alive": [row for row in rows if row not in over], "over": over}
    return render(request, "training/grants/authorities.html", shown)


@door(May.APPOINT)
def authority_new(request: HttpRequest, site: Site) -> HttpResponse:
    start = {"from_day": request.today, "person": request.GET.get("person")}
    form = GrantAuthority(site, request.POST or None, initial=start)
    if form.is_valid():
        data = form.cleaned_data
        try:
            row = grant_authority(
                data["person"], site, data["from_day"], data["to_day"], by=request.allowed.person,
                procedures=data["procedures"], areas=data["areas"],
                counts_because=data["counts_because"], id=form.fact_id,
            )  # fmt: skip
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(
                request, f"{row.person} may observe and sign from {short_day(row.happened_on)}, never for themselves."
            )
            warn_of(request, row)
            return redirect("training:authorities", site=site.code)
    return render(request, "training/grants/authority_new.html", {"form": form})


def warn_of(request: HttpRequest, row: Authority) -> None:
    """At once, where what they watch will not count, or counts for a reason only."""
    not_usable = not_usable_in(row.person, max(row.happened_on, request.today), row.procedures, row.areas)
    if says := watching_counts_words(str(row.person), [each.code for each in not_usable], row.counts_because):
        messages.warning(request, says)


@door(May.APPOINT)
def authority_end(request: HttpRequest, site: Site, authority: UUID) -> HttpResponse:
    row = get_object_or_404(Authority.objects.filter(site=site).select_related("person", "site"), pk=authority)
    form = EndAuthority(request.POST or None, initial={"to_day": request.today})
    if form.is_valid():
        data = form.cleaned_data
        try:
            ended = end_authority(row, data["to_day"], data["reason"], by=request.allowed.person, id=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(
                request,
                f"The authority of {ended.person} ends on {short_day(ended.to_day)}. What was signed stays signed.",
            )
            return redirect("training:authorities", site=site.code)
    shown = {"form": form, "row": row, "falls": authority_consequences(row, site, request.today)}
    return render(request, "training/grants/authority_end.html", shown)


@door(May.APPOINT)
def founding_new(request: HttpRequest, site: Site) -> HttpResponse:
    form = FoundingForm(
        site,
        known_as(request),
        request.POST or None,
        initial={"from_day": request.today, "to_day": request.today + ELEVEN_MONTHS},
    )
    if form.is_valid():
        data = form.cleaned_data
        try:
            by, proved = proven_here(request, site, form)
            row = found(
                data["person"], site, data["from_day"], data["to_day"], by=by, procedures=data["procedures"],
                rests_on=data["rests_on"], detail=data["detail"], proved=proved, id=form.fact_id,
            )  # fmt: skip
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(
                request,
                f"{row.person} may work alone and sign through {short_day(row.to_day)}, on the basis of a founding grant.",
            )
            return redirect("training:authorities", site=site.code)
    return render(request, "training/grants/founding_new.html", {"form": form})
