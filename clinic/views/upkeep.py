"""The due list, and logging one time a task was done."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from clinic import lock, pins
from clinic.actions.readings import DoneTask, LaterReading, Logged, log_work, read_result
from clinic.answers import gone, kept_under, refusals_in, wants_data
from clinic.doors import door
from clinic.forms.base import SubmissionForm, add_refusals
from clinic.forms.upkeep import LogEntry, ResultForm
from clinic.guessing import place_of
from clinic.models import EntryPhoto, Equipment, Person, Site, UpkeepEntry, UpkeepTask
from clinic.permissions import May
from clinic.photos import TYPE
from clinic.port import procedure_on, usable_people, usable_then
from clinic.reads.due_list import cares_of, due_list
from clinic.reads.entries import cover_with, works_of
from clinic.reads.readings import asked_at
from clinic.record import Refused
from clinic.rules.cover import EntryCover, EntryStanding
from clinic.rules.words import day_words


@door(May.DUTY, May.READ_SITE)
def upkeep(request: HttpRequest, site: Site) -> HttpResponse:
    return render(request, "clinic/upkeep/due_list.html", {"care": due_list(site, request.today)})


@door(May.DUTY)
def log_for_unit(request: HttpRequest, site: Site, equipment: UUID) -> HttpResponse:
    """Where the label on the unit leads: what is due on it and on its parts, each with its button."""
    unit = get_object_or_404(Equipment, pk=equipment, site=site)
    cares = cares_of(site, [unit, *unit.parts.in_service_on(request.today)], request.today)
    return render(request, "clinic/upkeep/for_unit.html", {"unit": unit, "cares": cares})


@door(May.DUTY)
def log_entry(request: HttpRequest, site: Site, equipment: UUID, upkeep_task: str) -> HttpResponse:
    unit = get_object_or_404(Equipment.objects.select_related("part_of"), pk=equipment, site=site)
    task = get_object_or_404(UpkeepTask, code=upkeep_task, equipment_kind=unit.kind)
    asked, me, known = asked_at(site, unit, task), request.allowed.person, request.GET.items()
    lock.hold(request)
    others = pins.people_here(place_of(request).device)
    form = LogEntry(
        site, unit, task, asked, me, request.today, request.POST or None, request.FILES or None, known, others
    )
    if form.is_valid():
        try:
            logged = log_work(work_of(form), by=recorder(request, site, form, me))
        except Refused as refused:
            add_refusals(form, refused)
        else:
            say(request, logged)
            return gone(request, reverse("clinic:unit", args=[site.code, unit.pk]))
    if request.method == "POST" and wants_data(request):
        return refusals_in(form)
    care = next(row for row in cares_of(site, [unit], request.today)[0].rows if row.task == task)
    procedure = procedure_on(site.organisation, task.covered_by, request.today, asked.answers)
    shown = {
        "form": form,
        "row": care,
        "procedure": procedure,
        "kept": kept_under(request, site, me, unit.label, task.title),
    }
    return render(request, "clinic/upkeep/log.html", shown | able(request, site, task))


def recorder(request: HttpRequest, site: Site, form: SubmissionForm, me: Person) -> Person:
    """Whoever did it, where their PIN says so; otherwise whoever is signed in. Raises Refused, at the PIN."""
    digits = form.cleaned_data.get("pin")
    return pins.person_by_pin(form.cleaned_data["done_by"], digits, place_of(request).device, site) if digits else me


@door(May.DUTY)
def result(request: HttpRequest, site: Site, upkeep_entry: UUID) -> HttpResponse:
    """What is read of an earlier sample: a spore test, a plate, a dip-slide."""
    known = UpkeepEntry.objects.live().select_related("task", "equipment__part_of", "site", "done_by")
    entry = get_object_or_404(known, pk=upkeep_entry, site=site)
    form = ResultForm(
        entry,
        asked_at(site, entry.equipment, entry.task, entry.happened_on),
        request.allowed.person,
        request.today,
        request.POST or None,
    )
    if form.is_valid():
        said = form.cleaned_data
        try:
            logged = read_result(
                LaterReading(entry, said["done_by"], said["day"], form.readings(said), said["note"], form.fact_id),
                by=request.allowed.person,
            )
        except Refused as refused:
            add_refusals(form, refused)
        else:
            tell(request, logged)
            return redirect("clinic:unit", site=site.code, equipment=entry.equipment_id)
    return render(request, "clinic/upkeep/result.html", {"form": form, "entry": entry, "read": entry.result})


def tell(request: HttpRequest, logged: Logged) -> None:
    closed = " A reading that was out of limits is good again." if logged.closed else ""
    messages.success(request, f"The result of {logged.entry.equipment} is recorded.{closed}")
    for verdict in logged.out:
        messages.warning(request, f"{verdict.sentence} {verdict.what_to_do}")


@door(May.DUTY, May.READ_SITE)
def photo(request: HttpRequest, site: Site, entry_photo: UUID) -> HttpResponse:
    """A photo of an entry, as the register keeps it: never what was sent."""
    found = get_object_or_404(EntryPhoto, pk=entry_photo, site=site)
    named = {"Content-Disposition": f'inline; filename="photo-{found.pk}.jpg"'}
    return HttpResponse(bytes(found.picture), content_type=TYPE, headers=named)


def able(request: HttpRequest, site: Site, task: UpkeepTask) -> dict[str, object]:
    """Whether whoever asks may do the task alone today, and who else may."""
    usable = usable_people(site.organisation, task.covered_by, request.today)
    others = Person.objects.filter(pk__in=usable).exclude(pk=request.allowed.person.pk)
    here = others.at_site(site, request.today).by_name()
    return {"i_may": not task.covered_by or request.allowed.person.pk in usable, "others": here}


def work_of(form: LogEntry) -> DoneTask:
    values = form.cleaned_data
    return DoneTask(
        form.task, form.unit, form.site, values["done_by"], values["day"], form.stood_by_person, form.readings(values),
        values["note"], form.fact_id, values["from_observation"], values["photo"], values.get("at"), values.get("read_on"),
    )  # fmt: skip


def say(request: HttpRequest, logged: Logged) -> None:
    """What was recorded, who stood by where that matters, and what to do next where a reading is out."""
    entry = logged.entry
    closed = " A reading that was out of limits is good again." if logged.closed else ""
    messages.success(
        request, f"{entry.task.title} on {entry.equipment} is recorded for {day_words(entry.happened_on)}.{closed}"
    )
    cover = cover_of(entry)
    if cover.standing is EntryStanding.NOBODY_USABLE:
        messages.warning(request, f"{cover.sentence} It is a finding, and is explained in Audit.")
    for verdict in logged.out:
        messages.warning(request, f"{verdict.sentence} {verdict.what_to_do}")


def cover_of(entry: UpkeepEntry) -> EntryCover:
    organisation, code = entry.site.organisation, entry.task.covered_by
    procedure = procedure_on(organisation, code, entry.happened_on, {})
    then = usable_then(organisation, works_of(entry, code))
    return cover_with(entry, code, then, procedure.title if procedure else "")
