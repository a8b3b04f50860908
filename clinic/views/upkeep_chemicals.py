"""The list of chemicals: today, on any day, and each product with what changed."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from clinic.actions.chemicals import change_chemical, list_chemical, take_off_list
from clinic.doors import door, must
from clinic.forms.base import add_refusals
from clinic.forms.chemicals import ChemicalForm, GoneForm, OnDayForm, as_listed
from clinic.models import ChemicalListed, Site
from clinic.permissions import May
from clinic.port import to_teach
from clinic.reads.chemicals import chemicals_of, here_on
from clinic.record import Refused


@door(May.DUTY, May.READ_SITE)
def chemicals(request: HttpRequest, site: Site) -> HttpResponse:
    """The list of a day, today unless one is named, and what is to be taught because of it."""
    form = OnDayForm(request.GET if "day" in request.GET else None, initial={"day": request.today})
    day = form.cleaned_data["day"] if form.is_valid() else request.today
    everything = chemicals_of(site)
    rows = here_on(everything, day)
    shown = {"form": form, "day": day, "rows": rows, "gone": [one for one in everything if one.after]}
    teach = to_teach(site, request.today)
    return render(request, "clinic/chemicals/list.html", shown | {"teach": teach})


@door(May.ROSTER)
def new_chemical(request: HttpRequest, site: Site) -> HttpResponse:
    form = ChemicalForm(request.POST or None, initial={"since": request.today})
    if form.is_valid():
        try:
            new = list_chemical(site, form.chemical, by=request.allowed.person, id=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            say(request, f"{form.chemical.product} is on the list.", new)
            return redirect("clinic:chemicals", site=site.code)
    return render(request, "clinic/chemicals/new.html", {"form": form})


def say(request: HttpRequest, words: str, new: list[str]) -> None:
    """What was recorded, and the new classes that are to be taught."""
    messages.success(request, words)
    if new:
        named = ", ".join(new)
        messages.warning(
            request, f"New here: {named}. Teach hazard communication about it before anybody works with it."
        )


@door(May.DUTY, May.READ_SITE)
def chemical(request: HttpRequest, site: Site, chemical_listed: UUID) -> HttpResponse:
    """One line of the list: change it, or say that it is gone."""
    row = get_object_or_404(ChemicalListed.objects.live(), pk=chemical_listed, site=site)
    form = ChemicalForm(
        request.POST if "product" in request.POST else None, initial=as_listed(row, request.today), button="Change it"
    )
    gone = GoneForm(request.POST if "gone" in request.POST else None, initial={"day": request.today})
    if request.method == "POST":
        must(request, May.ROSTER)
        if changed(request, row, form, gone):
            return redirect("clinic:chemicals", site=site.code)
    same = [one for one in chemicals_of(site) if one.row.product.casefold() == row.product.casefold()]
    shown = {"row": row, "form": form, "gone": gone, "same": same, "it": next(one for one in same if one.row == row)}
    return render(request, "clinic/chemicals/chemical.html", shown)


def changed(request: HttpRequest, row: ChemicalListed, form: ChemicalForm, gone: GoneForm) -> bool:
    """Whether what was sent is recorded; otherwise its form says why not."""
    by: dict[str, Any] = {"by": request.allowed.person}
    sent = gone if gone.is_bound else form
    if not sent.is_valid():
        return False
    try:
        if sent is gone:
            take_off_list(row, day=gone.cleaned_data["day"], id=gone.fact_id, **by)
            say(request, f"{row.product} is off the list.", [])
        else:
            new = change_chemical(row, form.chemical, id=form.fact_id, **by)
            say(request, f"{form.chemical.product} is changed on the list.", new)
    except Refused as refused:
        add_refusals(sent, refused)
        return False
    return True
