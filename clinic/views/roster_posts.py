"""Posts that the practice appoints to, and outside witnesses."""

from django.contrib import messages
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from clinic.actions.people import appoint, end_appointment, enter_witness
from clinic.doors import door
from clinic.forms.roster import GivePost, LastDay, NewWitness
from clinic.models import Appointment, OutsideWitness, Post, Site
from clinic.permissions import May


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
    form = GivePost(
        site, request.POST or None, initial={"from_day": request.today, "person": request.GET.get("person")}
    )
    if form.is_valid():
        data = form.cleaned_data
        where = None if data["everywhere"] else site
        row = Appointment(person=data["person"], post=data["post"], site=where, from_day=data["from_day"])
        if same_post(row).exists():
            form.add_error("post", f"{row.person} holds that post in those days already. End that one first.")
        else:
            appoint(row, at=site, by=request.allowed.person)
            messages.success(request, f"{row.person} is {row.get_post_display()} from {row.from_day:%-d %b %Y}.")
            return redirect("clinic:posts", site=site.code)
    return render(request, "clinic/roster/post_new.html", {"form": form})


def same_post(row: Appointment) -> QuerySet[Appointment]:
    still = Q(to_day__isnull=True) | Q(to_day__gte=row.from_day)
    return Appointment.objects.filter(still, person=row.person, post=row.post, site=row.site)


@door(May.APPOINT)
def post_end(request: HttpRequest, site: Site, appointment: int) -> HttpResponse:
    """The last owner keeps the post: somebody has to appoint and approve."""
    row = get_object_or_404(posts_at(site), pk=appointment)
    form = LastDay(request.POST or None, button="End this post", first=row.from_day, initial={"to_day": request.today})
    if form.is_valid():
        if row.post == Post.OWNER and not another_owner(row, site):
            form.add_error("to_day", "Nobody else would be owner after that day. Appoint another owner first.")
        else:
            end_appointment(row, form.cleaned_data["to_day"], at=site, by=request.allowed.person)
            messages.success(request, f"{row} ends on {row.to_day:%-d %b %Y}.")
            return redirect("clinic:posts", site=site.code)
    return render(request, "clinic/roster/post_end.html", {"form": form, "row": row})


def another_owner(row: Appointment, site: Site) -> bool:
    rows = posts_at(site).filter(post=Post.OWNER, to_day__isnull=True).exclude(pk=row.pk)
    return rows.filter(person__last_day__isnull=True).exists()


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
