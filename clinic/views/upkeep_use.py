"""What units were used for: one tap, or a file with a preview."""

from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from clinic.actions.upkeep import log_use
from clinic.actions.use_file import UsePreview, preview, record_lines
from clinic.csv_rows import MOST_BYTES, CellFault, NotCsv, decoded
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.forms.use import TAPS, UseFile, UseForm
from clinic.models import Site
from clinic.permissions import May
from clinic.reads.use import counters, uses_of
from clinic.record import Refused
from clinic.rules.words import counted, day_words
from clinic.views.equipment import unit_of


@door(May.DUTY)
def use(request: HttpRequest, site: Site, equipment: UUID) -> HttpResponse:
    unit = unit_of(site, equipment)
    form = UseForm(request.POST or None, initial={"day": request.today})
    if form.is_valid():
        values = form.cleaned_data
        try:
            log_use(
                unit,
                values["units"],
                site=site,
                by=request.allowed.person,
                day=values["day"],
                material=values["material"],
                wet=values["wet"],
                id=form.fact_id,
            )
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"Recorded: {values['units']} on {unit.label}, {day_words(values['day'])}.")
            return redirect("clinic:use", site=site.code, equipment=unit.pk)
    page = Paginator(uses_of(site, unit), 12).get_page(request.GET.get("page"))
    taps = TAPS if unit.kind == "milling unit" else []
    shown = {"form": form, "unit": unit, "taps": taps, "page": page, "counters": counters(site, unit, request.today)}
    return render(request, "clinic/upkeep/use.html", shown)


@door(May.DUTY)
def use_file(request: HttpRequest, site: Site) -> HttpResponse:
    """First a preview; the file's text comes back with the button that records it, and is read again."""
    form = UseFile(request.POST, request.FILES) if request.method == "POST" else UseFile()
    if not form.is_valid():
        return render(request, "clinic/upkeep/use_file.html", {"form": form, "found": None, "text": ""})
    upload = form.cleaned_data["file"]
    try:
        text = decoded(upload.read(MOST_BYTES + 1)) if upload else form.cleaned_data["text"]
        found = preview(site, text)
    except NotCsv as wrong:
        text, found = "", UsePreview([], [CellFault(0, "", wrong.says, wrong.supply)])
    if "record" in request.POST and not found.faults:
        count = record_lines(site, found.lines, by=request.allowed.person)
        before = counted(len(found.lines) - count, "line was", "lines were")
        messages.success(request, f"{counted(count, 'line')} recorded; {before} recorded before.")
        return redirect("clinic:upkeep", site=site.code)
    return render(request, "clinic/upkeep/use_file.html", {"form": form, "found": found, "text": text})
