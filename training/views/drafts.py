"""Drafts: write the next version, see what changes, preview it, submit it, approve it."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from clinic.doors import door, must
from clinic.forms.base import add_refusals
from clinic.models import Site, UpkeepTask
from clinic.permissions import May
from clinic.record import Refused
from clinic.rules.seal import digest
from clinic.rules.words import short_day
from training.actions.versions import (
    approve,
    approve_set,
    approved_before,
    discard_draft,
    newest,
    save_draft,
    start_draft,
    submit,
)
from training.forms.drafts import (
    SEEN,
    ApproveForm,
    ApproveSetForm,
    PolicyForm,
    QuestionFormSet,
    StepFormSet,
    WordsForm,
    question_initial,
    questions_of,
    steps_of,
)
from training.models import Draft, Procedure, Version
from training.reads.consequences import drafts_consequences
from training.reads.drafts import changes_of, in_the_way, next_key, out_of_order
from training.reads.procedures import study_draft
from training.rules.consequences import NOBODY_FALLS
from training.views.procedures import procedure_of, unit_asked
from training.views.proving import known_as, proven_here


def draft_at(site: Site, code: str) -> Draft:
    rows = Draft.objects.select_related("procedure", "author").filter(procedure__organisation=site.organisation)
    found: Draft = get_object_or_404(rows, procedure__code=code)
    return found


def stamp(draft: Draft) -> str:
    return draft.updated_at.isoformat()


@door(May.DRAFT, May.APPROVE)
def draft(request: HttpRequest, site: Site, code: str) -> HttpResponse:
    """The draft with everything that stands in its way and everything it changes. Posting starts, submits or throws one away."""
    row = procedure_of(site, code)
    if request.method == "POST":
        return draft_act(request, site, row)
    here = Draft.objects.filter(procedure=row).select_related("procedure", "author").first()
    known: dict[str, Any] = {"procedure": row, "draft": here, "newest": newest(row)}
    if here:
        known |= {"faults": in_the_way(here), "changes": changes_of(here), "order": out_of_order(here)}
    return render(request, "training/drafts/draft.html", known)


def draft_act(request: HttpRequest, site: Site, row: Procedure) -> HttpResponse:
    must(request, May.DRAFT)
    me, act = request.allowed.person, request.POST.get("act")
    try:
        if act == "start":
            start_draft(row, by=me)
        elif act == "discard":
            if Draft.objects.filter(procedure=row).exists():  # sent again, it is gone already
                discard_draft(draft_at(site, row.code), by=me)
            messages.success(request, "The draft is gone. The version in force is as it was.")
        elif act == "submit":
            submit(draft_at(site, row.code), by=me)
            messages.success(request, "Submitted. Whoever approves sees it in the list of procedures.")
    except Refused as refused:
        for each in refused.refusals:
            messages.error(request, f"{each.says} {each.supply}".strip())
    return redirect("training:draft", site=site.code, code=row.code)


def kept(
    request: HttpRequest, site: Site, row: Draft, what: dict[str, Any], to: str = "training:draft", at: str = ""
) -> HttpResponse | None:
    """Save what was typed, and where that leads. None where somebody else saved since this page was drawn; the same form
    sent again is answered as it was."""
    sent = {"form": digest(posted(request)), "to": reverse(to, args=[site.code, row.procedure.code]) + at}
    if row.last_sent.get("form") == sent["form"] and row.author_id == request.allowed.person.pk:
        return redirect(row.last_sent["to"])
    if request.POST.get("seen") not in ("", None, stamp(row)):
        messages.error(request, SEEN)
        return None
    now = {"content": row.content, "policy": row.policy, "note": row.change_note} | what
    save_draft(row, **now, by=request.allowed.person, sent=sent)
    messages.success(request, "Saved.")
    return redirect(sent["to"])


def posted(request: HttpRequest) -> dict[str, list[str]]:
    return {name: values for name, values in request.POST.lists() if name != "csrfmiddlewaretoken"}


@door(May.DRAFT)
def words(request: HttpRequest, site: Site, code: str) -> HttpResponse:
    row = draft_at(site, code)
    initial = WordsForm.initial_of(row.content, row.change_note) | {"seen": stamp(row)}
    form = WordsForm(row.procedure, request.POST or None, initial=initial)
    if form.is_valid():
        said = {"content": row.content | form.words(), "note": form.cleaned_data["change_note"]}
        if done := kept(request, site, row, said):
            return done
    return render(
        request,
        "training/drafts/words.html",
        {"procedure": row.procedure, "draft": row, "form": form, "stamp": stamp(row)},
    )


@dataclass(frozen=True, slots=True)
class EditedRows:
    """How steps or questions are edited: one list of the content, one form set, one page."""

    what: str  # key of the content
    letter: str
    formset: Any
    initial: Callable[[dict[str, Any]], dict[str, Any]]
    read: Callable[[Any, list[dict[str, Any]]], list[dict[str, Any]]]
    empty: dict[str, Any]
    address: str


STEPS = EditedRows(
    "steps",
    "s",
    StepFormSet,
    dict,
    steps_of,
    {"do": "", "critical": False, "when": "", "caution": "", "sources": []},
    "draft_steps",
)
QUESTIONS = EditedRows(
    "questions", "q", QuestionFormSet, question_initial, questions_of,
    {"ask": "", "weight": "safety", "options": [], "right_index": 0, "why": "", "sources": []}, "draft_questions",
)  # fmt: skip


@door(May.DRAFT)
def steps(request: HttpRequest, site: Site, code: str) -> HttpResponse:
    return rows_page(request, site, draft_at(site, code), STEPS)


@door(May.DRAFT)
def questions(request: HttpRequest, site: Site, code: str) -> HttpResponse:
    return rows_page(request, site, draft_at(site, code), QUESTIONS)


def rows_page(request: HttpRequest, site: Site, row: Draft, how: EditedRows) -> HttpResponse:
    """Every button saves what was typed first, and then moves, adds or removes."""
    before = row.content[how.what]
    formset = how.formset(request.POST or None, initial=[how.initial(each) for each in before], prefix=how.what)
    if formset.is_bound and formset.is_valid():
        rows, at = acted(how.read(formset, before), request.POST.get("act", ""), row, how)
        to = f"training:{how.address}" if at else "training:draft"
        if done := kept(request, site, row, {"content": row.content | {how.what: rows}}, to, at):
            return done
    known = {"procedure": row.procedure, "draft": row, "formset": formset, "stamp": stamp(row)}
    known["order"] = out_of_order(row) if how is STEPS else []
    return render(request, f"training/drafts/{how.what}.html", known)


def acted(rows: list[dict[str, Any]], act: str, draft: Draft, how: EditedRows) -> tuple[list[dict[str, Any]], str]:
    """The rows after the button, and where on the page to go on: nowhere after plain saving."""
    word, _, key = act.partition(":")
    place = next((i for i, each in enumerate(rows) if each["key"] == key), None)
    if word == "add":
        new = {"key": next_key(draft, how.what, how.letter), **how.empty}
        after = len(rows) if place is None else place + 1
        return [*rows[:after], new, *rows[after:]], f"#row-{new['key']}"
    if place is None:
        return rows, ""
    if word == "remove":
        return rows[:place] + rows[place + 1 :], "#rows"
    to = max(place - 1, 0) if word == "up" else place + 1
    rest = rows[:place] + rows[place + 1 :]
    return [*rest[:to], rows[place], *rest[to:]], f"#row-{key}"


@door(May.DRAFT)
def policy(request: HttpRequest, site: Site, code: str) -> HttpResponse:
    row = draft_at(site, code)
    codes = [(p.code, str(p)) for p in Procedure.objects.of(site.organisation) if p != row.procedure]
    tasks = [(task.code, f"{task.title} ({task.code})") for task in UpkeepTask.objects.order_by("code")]
    initial = PolicyForm.initial_of(row.policy) | {"seen": stamp(row)}
    form = PolicyForm(codes, tasks, request.POST or None, initial=initial)
    if form.is_valid() and (done := kept(request, site, row, {"policy": form.policy()})):
        return done
    return render(
        request,
        "training/drafts/policy.html",
        {"procedure": row.procedure, "draft": row, "form": form, "stamp": stamp(row)},
    )


@door(May.DRAFT, May.APPROVE)
def preview(request: HttpRequest, site: Site, code: str) -> HttpResponse:
    """The draft as it will look to whoever studies it."""
    row = draft_at(site, code)
    study = study_draft(row, site, request.today, request.allowed.person, unit_asked(request, site))
    return render(request, "training/drafts/preview.html", {"procedure": row.procedure, "draft": row, "study": study})


@door(May.APPROVE)
def approve_draft(request: HttpRequest, site: Site, code: str) -> HttpResponse:
    form = ApproveForm(request.today, known_as(request), request.POST or None)
    if form.is_valid() and Version.objects.filter(pk=form.fact_id, procedure__code=code).exists():
        return redirect("training:procedure", site=site.code, code=code)
    row = draft_at(site, code)
    if form.is_valid():
        day = form.cleaned_data["from_day"]
        try:
            by, proved = proven_here(request, site, form)
            version = approve(row, day, site=site, by=by, proved=proved, id=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(
                request, f"Version {version.number} is approved, and in force from {short_day(day)}. It never changes."
            )
            return redirect("training:procedure", site=site.code, code=code)
    faults_now = in_the_way(row)
    known = {
        "procedure": row.procedure,
        "draft": row,
        "form": form,
        "faults": faults_now,
        "changes": changes_of(row),
        "order": out_of_order(row),
        "falls": [] if faults_now else drafts_consequences([row], site, day_of(form, request.today))[code],
    }
    return render(request, "training/drafts/approve.html", known)


@door(May.APPROVE)
def approve_drafts(request: HttpRequest, site: Site) -> HttpResponse:
    """Every submitted draft at once, in force from one day, by whoever read them and proves who they are."""
    submitted = Draft.objects.filter(procedure__organisation=site.organisation, state=Draft.State.SUBMITTED)
    rows = list(submitted.select_related("procedure").order_by("procedure__code"))
    every = Procedure.objects.of(site.organisation)
    form = ApproveSetForm(rows, every, request.today, known_as(request), request.POST or None)
    if form.is_valid():
        said = form.cleaned_data
        if approved_before(form.fact_id, said["procedures"]):
            return redirect("training:procedures", site=site.code)
        chosen = [row for row in rows if row.procedure.code in said["procedures"]]
        try:
            by, proved = proven_here(request, site, form)
            done = approve_set(chosen, said["from_day"], site=site, by=by, proved=proved, submission=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"Approved: {len(done)}, in force from {short_day(said['from_day'])}.")
            return redirect("training:procedures", site=site.code)
    day = day_of(form, request.today)
    found = drafts_consequences(rows, site, day)
    falls = [f"{code}: {says}" for code, those in found.items() for says in those if those != NOBODY_FALLS]
    return render(
        request,
        "training/drafts/approve_set.html",
        {"form": form, "drafts": rows, "falls": falls, "order": orders_of(rows)},
    )


def orders_of(rows: list[Draft]) -> list[tuple[str, str]]:
    return [(f"{row.procedure.code}, {law}", says) for row in rows for law, says in out_of_order(row)]


def day_of(form: ApproveForm, today: date) -> date:
    """From when it would be in force: as typed, where that is a day to come."""
    typed = form.cleaned_data.get("from_day") if form.is_bound and hasattr(form, "cleaned_data") else None
    return max(typed, today) if typed else today
