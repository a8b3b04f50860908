"""The shelf with a list to order, and the messages of units."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from clinic.actions.stock import keep_in_stock, keep_message, move_stock
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.forms.stock import LineForm, MessageForm, MovedForm
from clinic.models import Site
from clinic.permissions import May
from clinic.reads.stock import lines_of, messages_of, on_shelf
from clinic.record import Refused
from clinic.rules.stock import StockSays


@door(May.DUTY)
def stock(request: HttpRequest, site: Site) -> HttpResponse:
    form = MovedForm(lines_of(site), request.POST or None)
    if form.is_valid():
        said = form.cleaned_data
        try:
            move_stock(
                site, said["name"], StockSays(said["what"]), said["number"], by=request.allowed.person, id=form.fact_id
            )
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"{said['name']}: {said['number']} {said['what']}.")
            return redirect("clinic:stock", site=site.code)
    shelf = on_shelf(site, request.today)
    low, enough = [one for one in shelf if one.is_low], [one for one in shelf if not one.is_low]
    return render(request, "clinic/stock/stock.html", {"form": form, "low": low, "enough": enough})


@door(May.ROSTER)
def stock_lines(request: HttpRequest, site: Site) -> HttpResponse:
    form = LineForm(request.today, request.POST or None)
    if form.is_valid():
        said = {name: value for name, value in form.cleaned_data.items() if name not in ("submission", "day")}
        try:
            keep_in_stock(site, form.cleaned_data["day"], by=request.allowed.person, id=form.fact_id, **said)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"{said['name']} is saved.")
            return redirect("clinic:stock_lines", site=site.code)
    return render(request, "clinic/stock/lines.html", {"form": form, "lines": lines_of(site)})


@door(May.DUTY)
def unit_messages(request: HttpRequest, site: Site) -> HttpResponse:
    """Found by a few letters of what the screen shows; a new one is kept by whoever met it."""
    form, words = MessageForm(site, request.POST or None), request.GET.get("words", "")[:80]
    if form.is_valid():
        said = form.cleaned_data
        try:
            row = keep_message(
                site, said["equipment"], said["code"], said["remedy"], by=request.allowed.person, shown=said["shown"], source=said["source"],
                id=form.fact_id,
            )  # fmt: skip
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"{row.code} is kept.")
            return redirect("clinic:unit_messages", site=site.code)
    shown = {"form": form, "words": words, "rows": messages_of(site, words)}
    return render(request, "clinic/stock/messages.html", shown)
