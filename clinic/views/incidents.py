"""Near misses without a name, injuries and other events, the log, and what was learned from them."""

from datetime import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from clinic.actions.incidents import file_event, file_near_miss, review
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.forms.incidents import WHAT, EventForm, NearMissForm, ReviewForm
from clinic.models import Incident, Site
from clinic.permissions import May
from clinic.reads.incidents import events_of, sharps_log, size_said
from clinic.record import Refused
from clinic.rules.incident_path import path_of
from clinic.rules.retention import Severe, report_by, report_from, sharps_log_label


@door(May.ROSTER)
def incidents(request: HttpRequest, site: Site) -> HttpResponse:
    """Every event, newest first, without a name. For those who look into them."""
    page = Paginator(events_of(site), 20).get_page(request.GET.get("page"))
    waiting = sum(not event.reviews for event in page.paginator.object_list)
    return render(request, "clinic/incidents/list.html", {"page": page, "waiting": waiting})


@door(May.DUTY)
def near_miss(request: HttpRequest, site: Site) -> HttpResponse:
    form = NearMissForm(site, request.POST or None)
    if form.is_valid():
        try:
            file_near_miss(site, form.cleaned_data["place"], form.said, id=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, "Thank you. It is filed without a name, and the place will be looked at.")
            return redirect("clinic:upkeep", site=site.code)
    return render(request, "clinic/incidents/near_miss.html", {"form": form, "what": WHAT})


@door(May.DUTY)
def new_event(request: HttpRequest, site: Site) -> HttpResponse:
    form = EventForm(site, request.today, request.POST or None, initial={"day": request.today})
    if form.is_valid():
        said = {name: value for name, value in form.cleaned_data.items() if name not in ("submission", "day")}
        try:
            made = file_event(site, form.cleaned_data["day"], by=request.allowed.person, id=form.fact_id, **said)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            return redirect("clinic:event_filed", site=site.code, incident=made.pk)
    return render(request, "clinic/incidents/new.html", {"form": form})


@door(May.DUTY)
def event_filed(request: HttpRequest, site: Site, incident: UUID) -> HttpResponse:
    """What to do now. It shows the path and the hours, and nothing else that was filed."""
    row = get_object_or_404(Incident.objects.live(), pk=incident, site=site)
    zone = ZoneInfo(site.time_zone)
    happened = datetime.combine(row.happened_on, row.happened_at, zone) if row.happened_at else None
    learned = report_from(happened, row.learned_at, row.recorded_at).astimezone(zone)
    shown = {
        "since": learned,
        "zone": site.time_zone,
        "path": path_of(row.kind, row.contaminated),
        "by_8": report_by(Severe.DEATH, learned),
        "by_24": report_by(Severe.ADMISSION, learned),
        "label": sharps_log_label(site.must_keep_1904),
    }
    return render(request, "clinic/incidents/filed.html", shown)


@door(May.ROSTER)
def review_event(request: HttpRequest, site: Site, incident: UUID) -> HttpResponse:
    row = get_object_or_404(Incident.objects.live(), pk=incident, site=site)
    event = next(one for one in events_of(site) if one.id == row.pk)
    form = ReviewForm(site, request.POST or None)
    if form.is_valid():
        values = form.cleaned_data
        who = {"by": request.allowed.person, "id": form.fact_id}
        try:
            review(row, values["looked_at"], values["changed"], causes=values["causes"], **who)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, "The review is recorded.")
            return redirect("clinic:incidents", site=site.code)
    return render(request, "clinic/incidents/review.html", {"form": form, "event": event})


@door(May.ROSTER)
def printed_log(request: HttpRequest, site: Site) -> HttpResponse:
    """The log of injuries by contaminated sharps, for print: type and brand, place, how. No name, no initials."""
    shown = {"events": sharps_log(site), "label": sharps_log_label(site.must_keep_1904)}
    shown["size"] = size_said(site, request.today)
    return render(request, "clinic/incidents/log.html", shown)
