"""Numbered sheets of paper: print them, enter one, confirm what was entered."""

from uuid import UUID

from django.contrib import messages
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from clinic import lock
from clinic.answers import gone, kept_under, refusals_in, wants_data
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.models import Site
from clinic.permissions import May
from clinic.photos import TYPE
from clinic.record import Refused
from clinic.rules.words import begun
from training.actions.sheets import confirm_sheet, enter_sheet, print_sheets
from training.documents import checklist
from training.forms.sheets import NumberForm, PrintForm, SheetForm
from training.forms.signing import Proof
from training.models import Observation, SheetEntered, SheetPhoto, SheetsPrinted
from training.reads import papers
from training.reads import sheets as reads
from training.reads.bench import bench_procedures
from training.reads.putting_right import put_right
from training.reads.watched import will_not_count
from training.rules.sheets import number_of, sheet_words
from training.rules.watchers import will_not_count_words
from training.views.papers import nothing, pdf, version_asked
from training.views.proving import known_as, proven_here


@door(May.OWN_RECORD, May.READ_SITE)
def blank_checklist(request: HttpRequest, site: Site, code: str) -> HttpResponse:
    """Blank checklists, each sheet with a number. `?unit=` names the unit whose words they show."""
    here = version_asked(request, site, code)
    if here is None:
        return nothing(request, site, code)
    form = PrintForm(request.POST or None)
    if form.is_valid():
        try:
            count, by = form.cleaned_data["count"], request.allowed.person
            row = print_sheets(here.version, count, site=site, unit=here.unit, by=by, id=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            return redirect("training:sheets_printed", site=site.code, sheets_printed=row.pk)
    return render(request, "training/sheets/print.html", {"here": here, "form": form})


@door(May.OWN_RECORD, May.READ_SITE)
def printed(request: HttpRequest, site: Site, sheets_printed: UUID) -> HttpResponse:
    rows = SheetsPrinted.objects.filter(site=site).select_related("version__procedure", "equipment", "site")
    row = get_object_or_404(rows, pk=sheets_printed)
    name = f"checklist-{row.version.procedure.code}-{row.first:04}"
    return pdf(checklist.build(papers.blank_checklist(papers.here_of(row), row)), name)


@door(May.DUTY, May.ROSTER)
def sheets(request: HttpRequest, site: Site) -> HttpResponse:
    """Which sheet is entered; what waits for whoever watched; what was entered lately."""
    form = NumberForm(request.GET if "number" in request.GET else None)
    if form.is_valid():
        address = reverse("training:sheet_enter", args=[site.code])
        return redirect(f"{address}?number={form.cleaned_data['number']}")
    mine = read_by(request, site)
    known = {"form": form, "waiting": reads.waiting(site, mine), "lately": reads.lately(site, mine)}
    known["for_me"] = reads.to_confirm(request.allowed.person, site)
    return render(request, "training/sheets/sheets.html", known)


@door(May.DUTY, May.ROSTER)
def enter(request: HttpRequest, site: Site) -> HttpResponse:
    """What stands on the sheet `?number=`. A number that was never printed, or was entered before, is told at once."""
    number = number_of(request.GET.get("number", "")) or 0
    row, earlier = reads.printed_as(site, number), reads.already_entered(site, number)
    if row is None:
        messages.error(
            request, f"No {sheet_words(number)} was printed here. Read the number at the top of the sheet again."
        )
        return redirect("training:sheets", site=site.code)
    me = request.allowed.person
    steps = bench_procedures([row.version], site, row.equipment)
    lock.hold(request)
    form = SheetForm(row, me, request.today, steps, request.POST or None, request.FILES or None)
    if form.is_valid():
        try:
            found = enter_sheet(form.on_sheet(number), site=site, by=me)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            return told(request, site, found)
    if request.method == "POST" and wants_data(request):
        return refusals_in(form)
    kept = kept_under(request, site, me, begun(sheet_words(number)), f"{row.version.procedure}, from paper")
    known = {"printed": row, "number": number, "form": form, "kept": kept, "earlier": earlier}
    return render(request, "training/sheets/enter.html", known)


def told(request: HttpRequest, site: Site, row: SheetEntered) -> HttpResponse:
    mine = row.observer == request.allowed.person
    waits = (
        f"It waits for {row.observer}."
        if row.observer
        else "It waits for somebody else, who compares it with the photo."
    )
    follows = "Confirm it below, and it counts." if mine else waits
    messages.success(request, f"{begun(sheet_words(row.number))} is entered. {follows}")
    return gone(request, reverse("training:sheet", args=[site.code, row.pk]))


@door(May.DUTY, May.ROSTER, May.READ_SITE)
def sheet(request: HttpRequest, site: Site, sheet_entered: UUID) -> HttpResponse:
    """What was entered from a sheet; for whoever watched, or may compare it with the photo, the place to confirm it."""
    me = request.allowed.person
    row = readable(request, site, sheet_entered)
    page = reads.sheet_of(row)
    if request.method == "POST" and page.confirmed:  # sent again: nothing more is asked of it
        return redirect("training:observed", site=site.code, observation=page.confirmed.pk)
    against = reads.against_confirming(me, row) if page.waits else []
    form = Proof(known_as(request), request.POST or None) if page.waits and not against else None
    if form is not None and form.is_valid():
        try:
            who, proved = proven_here(request, site, form)
            seen = confirm_sheet(row, by=who, proved=proved)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, "Confirmed. It is an observation now, and says that it came from paper.")
            return redirect("training:observed", site=site.code, observation=seen.pk)
    known = {"page": page, "row": row, "form": form, "right": put_right(me, row, request.today)}
    known["against"] = against if row.witness else []
    if row.purpose == Observation.Purpose.ASSESSMENT and page.waits and row.observer:
        aside = will_not_count(row.observer, site, row.happened_on, [row.version.procedure])
        known["will_not_count"] = will_not_count_words(str(row.observer), aside)
    return render(request, "training/sheets/sheet.html", known)


def read_by(request: HttpRequest, site: Site) -> Q:
    """Sheets for whoever reads the person's record, entered it, or is said to have watched."""
    me = request.allowed.person
    return Q(person__in=request.allowed.people(site)) | Q(recorded_by=me) | Q(observer=me)


def readable(request: HttpRequest, site: Site, pk: object) -> SheetEntered:
    rows = SheetEntered.objects.filter(site=site).select_related(*reads.JOINED)
    return get_object_or_404(rows.filter(read_by(request, site)), pk=pk)


@door(May.DUTY, May.ROSTER, May.READ_SITE)
def photo(request: HttpRequest, site: Site, sheet_photo: UUID) -> HttpResponse:
    """The photo of a sheet, as the register keeps it: never what was sent."""
    found = get_object_or_404(SheetPhoto, pk=sheet_photo, site=site)
    readable(request, site, found.sheet_id)
    named = {"Content-Disposition": f'inline; filename="sheet-{found.pk}.jpg"'}
    return HttpResponse(bytes(found.picture), content_type=TYPE, headers=named)
