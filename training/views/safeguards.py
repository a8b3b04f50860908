"""Noting a backup or a restore drill."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from clinic.actions.safeguards import note_safeguard
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.models import Site
from clinic.permissions import May
from clinic.record import Refused
from training.forms.safeguards import SafeguardForm


@door(May.ROSTER)
def safeguard(request: HttpRequest, site: Site) -> HttpResponse:
    """What was done to keep the record safe, and how it went."""
    start = {"on": request.today, "done_by": request.allowed.person, "kind": request.GET.get("kind", "")}
    form = SafeguardForm(site, request.today, request.POST or None, initial=start)
    if form.is_valid():
        said = {name: form.cleaned_data[name] for name in ("kind", "good", "said", "on", "done_by")}
        try:
            row = note_safeguard(**said, site=site, by=request.allowed.person, id=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"{row.get_kind_display()} recorded.")
            return redirect("training:audit", site=site.code)
    return render(request, "training/audit/safeguard.html", {"form": form})
