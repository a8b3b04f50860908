"""My record: everything that is recorded about one's own training, to be read and taken away without asking anybody (O-07)."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from clinic.doors import door
from clinic.models import Site
from clinic.permissions import May
from training.own_record_file import as_csv, as_json
from training.reads.own_record import OwnRecord, own_record
from training.views.person import whose


@door(May.OWN_RECORD, May.READ_SITE)
def record(request: HttpRequest, site: Site, person: UUID) -> HttpResponse:
    who = whose(request, site, person)
    shown = {"record": own_record(who, request.today), "mine": who == request.allowed.person}
    return render(request, "training/people/own_record.html", shown)


@door(May.OWN_RECORD, May.READ_SITE)
def record_csv(request: HttpRequest, site: Site, person: UUID) -> HttpResponse:
    found = own_record(whose(request, site, person), request.today)
    return saved(found, as_csv(found), "csv", "text/csv; charset=utf-8")


@door(May.OWN_RECORD, May.READ_SITE)
def record_json(request: HttpRequest, site: Site, person: UUID) -> HttpResponse:
    found = own_record(whose(request, site, person), request.today)
    return saved(found, as_json(found), "json", "application/json")


def saved(found: OwnRecord, text: str, ending: str, kind: str) -> HttpResponse:
    name = f"record-{found.person.pk}-{found.day:%Y-%m-%d}.{ending}"
    return HttpResponse(text, content_type=kind, headers={"Content-Disposition": f'attachment; filename="{name}"'})
