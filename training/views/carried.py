"""Carried-over records: one by one, or from a file."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.forms.roster_file import TableFile
from clinic.models import Site
from clinic.permissions import May
from clinic.record import Refused
from clinic.rules.words import counted, short_day
from training.actions.grants import PaperRecord, carry_over_all
from training.carried_file import COLUMNS, read_carried, written_carried
from training.carried_table import carry_over_seen, tried
from training.forms.grants import CarryOver
from training.models import CarriedOver
from training.rules.grants import spread

A_PAGE = 100


@door(May.ROSTER)
def carried_over(request: HttpRequest, site: Site) -> HttpResponse:
    rows = (
        CarriedOver.objects.live()
        .filter(site=site)
        .select_related("person", "procedure", "recorded_by")
        .order_by("valid_until", "pk")
    )
    page = Paginator(rows, A_PAGE).get_page(request.GET.get("page"))
    ahead = rows.filter(valid_until__gte=request.today).count()
    return render(request, "training/grants/carried_over.html", {"page": page, "ahead": ahead})


@door(May.ROSTER)
def carried_over_new(request: HttpRequest, site: Site) -> HttpResponse:
    start = {"person": request.GET.get("person"), "valid_until": spread(site.register_start, 0, 1)}
    form = CarryOver(site, request.POST or None, initial=start)
    if form.is_valid():
        data = {name: value for name, value in form.cleaned_data.items() if name != "submission"}
        seen, me = data.pop("seen"), request.allowed.person
        try:
            row, held = carry_over_seen(PaperRecord(**data), site, request.today, by=me, id=form.fact_id, seen=seen)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            if held:
                form.ask_about(held)
                return render(request, "training/grants/carried_over_new.html", {"form": form})
            messages.success(
                request, f"{row.person}: {row.procedure} is carried over, good through {short_day(row.valid_until)}."
            )
            return redirect("training:carried_over", site=site.code)
    return render(request, "training/grants/carried_over_new.html", {"form": form})


@door(May.ROSTER)
def carried_over_import(request: HttpRequest, site: Site) -> HttpResponse:
    """Checked first; then all of it, or nothing."""
    form, found, text, held = TableFile(request.POST or None, request.FILES or None), None, "", []
    if form.is_valid():
        text = form.lines
        found = read_carried(text, site)
        if "enter" in request.POST and not found.faults:
            made = carry_over_all(found.papers, site, by=request.allowed.person)
            messages.success(
                request,
                f"{counted(len(made), 'record')} carried over. {counted(found.known, 'line was', 'lines were')} here already.",
            )
            return redirect("training:carried_over", site=site.code)
        held = [] if found.faults else tried(found.papers, site, request.today, by=request.allowed.person)
        form = form.as_text()
    columns = [column.name for column in COLUMNS]
    shown = {"form": form, "found": found, "text": text, "columns": columns, "held": held}
    return render(request, "training/grants/carried_over_import.html", shown)


@door(May.ROSTER)
def carried_over_export(request: HttpRequest, site: Site) -> HttpResponse:
    name = f"carried-over-{site.code}-{request.today:%Y-%m-%d}.csv"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(written_carried(site), content_type="text/csv; charset=utf-8", headers=headers)
