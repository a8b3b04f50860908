"""The page of a table: filled in there or from a file, tried without recording, and recorded as a whole."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import reverse

from clinic import lock
from clinic.answers import gone, kept_under, wants_data
from clinic.csv_rows import MOST_BYTES, CellFault
from clinic.forms.base import add_refusals
from clinic.forms.roster_file import TableFile
from clinic.forms.tables import TableForm, lines_sent, shared_sent
from clinic.models import Site
from clinic.permissions import May
from clinic.record import Refused
from clinic.rules.words import counted
from clinic.table_files import as_file, read_file
from clinic.tables import MOST_LINES, Table, TableLine, TablePlace, Values

GOING_LIVE = "training:going_live"
PAGE = "clinic/tables/table.html"
KINDS = ("csv", "xlsx")
BESIDE = ("submission", "seen", "sign_in_name", "password")


@dataclass(frozen=True, slots=True)
class TableView:
    """A kind of table on a page: `form` and `prove` of what is signed; `after`: where to go when nothing is left."""

    make: Callable[[TablePlace], Table]
    after: str = GOING_LIVE
    form: type[TableForm] = TableForm
    more: Callable[[HttpRequest], dict[str, Any]] = lambda request: {}
    prove: Callable[[HttpRequest, Site, Any], Any] | None = None


@dataclass(slots=True)
class Tried:
    """What a table would do, or did."""

    recorded: int = 0
    known: int = 0
    seen: list[Values] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)

    @property
    def says(self) -> str:
        there = f" {counted(self.known, 'line says', 'lines say')} what is here already." if self.known else ""
        return f"{counted(self.recorded, 'line')} would be recorded.{there}"


def table_page(request: HttpRequest, site: Site, kind: TableView) -> HttpResponse:
    """`?as=csv` and `?as=xlsx` are the table as a file, with `&sample=yes` one that loads as it is."""
    lock.hold(request)
    here = TablePlace(site, request.today, request.allowed.person)
    if request.GET.get("as") in KINDS:
        return file_of(kind.make(here), site, request.GET["as"], sample="sample" in request.GET)
    if request.method != "POST":
        return show(request, kind, drawn(kind, request, here, [], {}))
    if "load" in request.POST:
        return from_file(request, kind, here)
    if "check" in request.POST:
        table = kind.make(here)
        return checked(request, kind, here, lines_sent(request.POST, table), shared_sent(request.POST, table))
    return saved(request, kind, here)


def drawn(
    kind: TableView,
    request: HttpRequest,
    here: TablePlace,
    typed: Sequence[TableLine],
    shared: dict[str, str],
    *,
    read: bool = False,
) -> TableForm:
    """The form over the lines that the register asks, with what was typed in them."""
    table = kind.make(here)
    first = {each.name: each.first for each in table.columns if each.shared}
    beside = beside_cells(request) if read else {}
    more = kind.more(request)
    return kind.form(table, table.lines(typed), shared or ({} if read else first), read=read, beside=beside, **more)


def from_file(request: HttpRequest, kind: TableView, here: TablePlace) -> HttpResponse:
    """The lines of the file stand in the table, tried, to be looked over and put right there; nothing is recorded."""
    file = TableFile(request.POST, request.FILES)
    if not file.is_valid():
        return show(request, kind, drawn(kind, request, here, [], {}), file=file)
    lines, faults = read_file(file.lines, kind.make(here))
    if faults:
        return show(request, kind, drawn(kind, request, here, [], {}), file=file, faults=faults)
    return checked(request, kind, here, lines, {})


def checked(
    request: HttpRequest, kind: TableView, here: TablePlace, typed: Sequence[TableLine], shared: dict[str, str]
) -> HttpResponse:
    """Every fault and what would be recorded; nothing is."""
    form = drawn(kind, request, here, typed, shared, read=True)
    form.not_proved_yet()
    return show(request, kind, form, tried=tried(form, keep=False))


def saved(request: HttpRequest, kind: TableView, here: TablePlace) -> HttpResponse:
    """All lines, or none and every fault at its cell."""
    table = kind.make(here)
    shared = shared_sent(request.POST, table)
    form = kind.form(
        table, lines_sent(request.POST, table), shared, read=True, beside=beside_cells(request), **kind.more(request)
    )
    if kind.prove and not ({"password", "sign_in_name"} & set(form.errors)):
        try:
            table.here, table.proof = proven(request, kind, here, form)
        except Refused as refused:
            add_refusals(form, refused)
    done = tried(form, keep=not form.errors)
    if form.errors:
        return refused_in(form) if wants_data(request) else show(request, kind, form, tried=done)
    messages.success(request, table.done(done.recorded) if done.recorded else "Nothing new: all of it is here already.")
    for each in [] if table.warns else done.warnings:
        messages.warning(request, each)
    return gone(request, next_address(kind, here, request))


def beside_cells(request: HttpRequest) -> dict[str, str]:
    return {name: request.POST[name] for name in BESIDE if name in request.POST}


def proven(request: HttpRequest, kind: TableView, here: TablePlace, form: TableForm) -> tuple[TablePlace, Any]:
    assert kind.prove is not None
    by, proof = kind.prove(request, here.site, form)
    return TablePlace(here.site, here.today, by), proof


def next_address(kind: TableView, here: TablePlace, request: HttpRequest) -> str:
    """The table again while it asks something; then the list that led here, or for whoever may not see that, `after`."""
    if kind.make(here).asks_more():
        return request.path
    after = GOING_LIVE if request.allowed.may(May.ROSTER, here.site) else kind.after
    return reverse(after, args=[here.site.code])


def tried(form: TableForm, *, keep: bool) -> Tried:
    """Record every line that can be read, and take all of it back unless all went well and it is to be kept: so a trial says
    what the very acts would say, every reason at once."""
    found = Tried()
    form.is_valid()
    with transaction.atomic():
        with form.table.at_once():
            lines = list(form.typed())
            form.table.begin([each.values for each in lines])
            for typed in lines:
                if form.table.is_known(typed.values):
                    found.known += 1
                    continue
                try:
                    with transaction.atomic():
                        form.table.record(typed.values, typed.id)
                except Refused as refused:
                    form.refuse(typed.line, refused)
                else:
                    found.recorded += 1
                    found.seen.append(typed.values)
        found.warnings = form.table.warnings(found.seen)
        if keep and form.table.warns:
            form.ask_about(found.warnings)
        if form.errors or not keep:
            transaction.set_rollback(True)
    return found


def refused_in(form: TableForm) -> JsonResponse:
    """Every refusal with the name of its cell, and each again by its field."""
    at_cells = [f"{where}: {words}" for where, _, words in form.by_cell]
    words = {name: list(errors) for name, errors in form.errors.items()}
    return JsonResponse({"refusals": [*form.non_field_errors(), *at_cells], "fields": words}, status=422)


def file_of(table: Table, site: Site, kind: str, *, sample: bool) -> HttpResponse:
    lines = table.sample() if sample else [line for line in table.lines([]) if line.given]
    content, mime = as_file(table, lines, kind)
    name = f"{table.title.lower().replace(' ', '-')}-{site.code}{'-sample' if sample else ''}.{kind}"
    return HttpResponse(content, content_type=mime, headers={"Content-Disposition": f'attachment; filename="{name}"'})


def show(
    request: HttpRequest, kind: TableView, form: TableForm, *, file: TableFile | None = None,
    faults: Sequence[CellFault] = (), tried: Tried | None = None,
) -> HttpResponse:  # fmt: skip
    table, site = form.table, form.table.here.site
    shown = {
        "form": form,
        "table": table,
        "file": of_table(file or TableFile()),
        "faults": faults,
        "tried": tried,
        "signed": kind.prove is not None,
        "kept": kept_under(request, site, request.allowed.person, "Going live", table.title),
    }
    return render(request, PAGE, shown)


def of_table(file: TableFile) -> TableFile:
    file.fields["file"].help_text = f"At most {MOST_LINES} lines and {MOST_BYTES // 1_000_000} MB at a time."
    return file
