"""Posts that the practice appoints to, and outside witnesses."""

from django.contrib import messages
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from clinic.actions.people import appoint, end_appointment, enter_witness
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.forms.roster import GivePost, LastDay, NewWitness
from clinic.models import Appointment, OutsideWitness, Site
from clinic.permissions import May, owns_group
from clinic.record import Refused, only_if_allowed
from clinic.rights import against_change
from clinic.rules.words import short_day


def posts_at(site: Site) -> QuerySet[Appointment]:
    here = Q(site=site) | Q(site__isnull=True, person__organisation=site.organisation_id)
    return Appointment.objects.filter(here).select_related("person", "site").order_by("post", "from_day", "pk")


@door(May.APPOINT)
def posts(request: HttpRequest, site: Site) -> HttpResponse:
    rows = list(posts_at(site))
    over = [row for row in rows if row.to_day and row.to_day < request.today]
    return render(
        request, "clinic/roster/posts.html", {"posts": [row for row in rows if row not in over], "over": over}
    )


@door(May.APPOINT)
def post_new(request: HttpRequest, site: Site) -> HttpResponse:
    """An owner of the group appoints anybody anywhere; an owner of a site its own people, there."""
    me, start = request.allowed.person, {"from_day": request.today, "person": request.GET.get("person")}
    form = GivePost(site, request.POST or None, by=me, group=owns_group(me), initial=start)
    if form.is_valid():
        data = form.cleaned_data
        where = None if data.get("everywhere") else site
        try:
            row = appoint(
                Appointment(person=data["person"], post=data["post"], site=where, from_day=data["from_day"]), at=site, by=me
            )  # fmt: skip
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"{row.person} is {row.get_post_display()} from {short_day(row.from_day)}.")
            return redirect("clinic:posts", site=site.code)
    return render(request, "clinic/roster/post_new.html", {"form": form})


@door(May.APPOINT)
def post_end(request: HttpRequest, site: Site, appointment: int) -> HttpResponse:
    row = get_object_or_404(posts_at(site), pk=appointment)
    only_if_allowed(against_change(request.allowed.person, row, site))
    form = LastDay(request.POST or None, button="End this post", first=row.from_day, initial={"to_day": request.today})
    if form.is_valid():
        try:
            end_appointment(row, form.cleaned_data["to_day"], at=site, by=request.allowed.person)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"{row} ends on {short_day(row.to_day)}.")
            return redirect("clinic:posts", site=site.code)
    return render(request, "clinic/roster/post_end.html", {"form": form, "row": row})


@door(May.ROSTER, May.APPOINT)
def witnesses(request: HttpRequest, site: Site) -> HttpResponse:
    rows = OutsideWitness.objects.filter(organisation=site.organisation_id).order_by("printed_name", "pk")
    return render(request, "clinic/roster/witnesses.html", {"witnesses": rows})


@door(May.ROSTER, May.APPOINT)
def witness_new(request: HttpRequest, site: Site) -> HttpResponse:
    form = NewWitness(request.POST or None)
    if form.is_valid():
        columns = {name: value for name, value in form.cleaned_data.items() if name != "submission"}
        row = OutsideWitness(id=form.fact_id, organisation=site.organisation, **columns)
        if not OutsideWitness.objects.filter(pk=row.pk).exists():
            enter_witness(row, at=site, by=request.allowed.person)
        messages.success(request, f"{row.printed_name} can be chosen as outside witness of an observation.")
        return redirect("clinic:witnesses", site=site.code)
    return render(request, "clinic/roster/witness_new.html", {"form": form})
