"""The knowledge check: one's own tries, talking it through after two failed ones, and the supervisors' own questions."""

import random
from typing import Any
from uuid import NAMESPACE_URL, UUID, uuid5

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from clinic.doors import door
from clinic.forms.base import SubmissionForm, add_refusals, with_button
from clinic.models import Person, Site
from clinic.permissions import May
from clinic.record import Refused
from training.actions.teach import shuffled, take_check, talk_through, tries_on
from training.forms.teach import CheckForm
from training.models import KnowledgeResult, Procedure, Version
from training.permissions import has_authority
from training.reads.library import supervisor_questions, supervisor_sources
from training.reads.procedures import source_shown
from training.reads.putting_right import put_right
from training.reads.teach import tries_of, wrong_answers
from training.rules.check import needs_talk


def version_today(request: HttpRequest, site: Site, code: str) -> Version:
    rows = Version.objects.live().in_force(request.today).filter(procedure__organisation=site.organisation)
    found: Version = get_object_or_404(rows.select_related("procedure"), procedure__code=code)
    return found


def try_id(person: Person, version: Version) -> UUID:
    """The id of the person's next try. It stays the same until the try is recorded, so a reload asks in the same order
    and a second sending is the same try."""
    taken = KnowledgeResult.objects.filter(person=person, version=version).count()
    return uuid5(NAMESPACE_URL, f"check:{person.pk}:{version.pk}:{taken}")


def asked(version: Version, seed: UUID) -> list[dict[str, Any]]:
    by_key = {question.key: question for question in version.text.questions}
    return [
        {**row, "ask": by_key[row["key"]].ask, "help": by_key[row["key"]].weight}
        for row in shuffled(version, str(seed))
    ]


@door(May.OWN_RECORD)
def check(request: HttpRequest, site: Site, code: str) -> HttpResponse:
    """Take the check of the version in force, for oneself."""
    version, me = version_today(request, site, code), request.allowed.person
    seed = try_id(me, version)
    if recorded := sent_before(request, me, seed):
        return redirect("training:check_result", site=site.code, code=code, knowledge_result=recorded.pk)
    form = CheckForm(asked(version, seed), "Hand it in", request.POST or None, initial={"submission": seed})
    if form.is_valid():
        try:
            done = take_check(version, me, form.answers, site=site, seed=str(seed), by=me, id=seed)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            return redirect("training:check_result", site=site.code, code=code, knowledge_result=done.pk)
    failed, _ = tries_on(me, version, request.today)
    known = {"version": version, "procedure": version.procedure, "form": form, "tries": tries_of(me, version.procedure)}
    return render(request, "training/checks/check.html", known | {"talk": needs_talk(failed), "failed": failed})


def sent_before(request: HttpRequest, me: Person, seed: UUID) -> KnowledgeResult | None:
    """The try that this page was drawn for, where it is recorded already."""
    sent = request.POST.get("submission", "")
    if not sent or sent == str(seed):
        return None
    return KnowledgeResult.objects.filter(person=me, pk=sent).first() if is_uuid(sent) else None


def is_uuid(text: str) -> bool:
    try:
        UUID(text)
    except ValueError:
        return False
    return True


@door(May.OWN_RECORD, May.READ_SITE)
def result(request: HttpRequest, site: Site, code: str, knowledge_result: UUID) -> HttpResponse:
    """Passed or not, and why for each wrong answer. One's own, or of people whose records one may read."""
    rows = KnowledgeResult.objects.filter(person__in=request.allowed.people(site), version__procedure__code=code)
    row = get_object_or_404(rows.select_related("version__procedure", "person"), pk=knowledge_result)
    failed, _ = tries_on(row.person, row.version, request.today)
    wrong, total = wrong_answers(row), len(row.version.text.questions)
    known = {
        "result": row,
        "procedure": row.version.procedure,
        "wrong": wrong,
        "right": total - len(wrong),
        "total": total,
        "mine": row.person == request.allowed.person,
        "talk": needs_talk(failed),
        "tries": tries_of(row.person, row.version.procedure),
        "put_right": put_right(request.allowed.person, row, request.today),
    }
    return render(request, "training/checks/result.html", known)


@door(May.OBSERVE)
def talk(request: HttpRequest, site: Site, code: str, person: UUID) -> HttpResponse:
    """Somebody with authority talks the check through with whoever failed twice today."""
    version, me = version_today(request, site, code), request.allowed.person
    who = get_object_or_404(request.allowed.people(site), pk=person)
    form = SubmissionForm(request.POST or None)
    form.helper = with_button(form, "I talked it through with them")  # type: ignore[attr-defined]
    if form.is_valid():
        try:
            talk_through(version, who, site=site, by=me, id=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"Recorded. {who.printed_name} may try the check again.")
            return redirect("training:procedures", site=site.code)
    today = [row for row in tries_of(who, version.procedure) if row.happened_on == request.today]
    known = {
        "person": who,
        "procedure": version.procedure,
        "form": form,
        "waits": needs_talk(tries_on(who, version, request.today)[0]),
        "may_talk": has_authority(me, version.procedure, site, request.today) and who != me,
        "tries": [(row, wrong_answers(row)) for row in today],
    }
    return render(request, "training/checks/talk.html", known)


@door(May.OBSERVE, May.DRAFT, May.APPROVE)
def supervisor_check(request: HttpRequest, site: Site) -> HttpResponse:
    """Law and records, for supervisors. Nothing is recorded, and it never holds up anybody."""
    seed = uuid5(NAMESPACE_URL, f"supervisor:{request.allowed.person.pk}:{request.today}")
    form = CheckForm(
        supervisor_asked(site, seed), "See how it went", request.POST or None, initial={"submission": seed}
    )
    answered = answers_shown(form) if form.is_valid() else []
    known = {"form": form, "answered": answered, "right": sum(row["is_right"] for row in answered)}
    return render(request, "training/checks/supervisor.html", known)


def supervisor_asked(site: Site, seed: UUID) -> list[dict[str, Any]]:
    order, titles = random.Random(str(seed)), dict(Procedure.objects.of(site.organisation).values_list("code", "title"))
    found = []
    for code, question in supervisor_questions():
        options = list(question.options)
        order.shuffle(options)
        about = f"{titles[code]} ({code})" if code in titles else code
        found.append({"key": question.key, "ask": question.ask, "options": options, "help": about})
    return found


def answers_shown(form: CheckForm) -> list[dict[str, Any]]:
    sources = supervisor_sources()
    return [
        {
            "ask": question.ask,
            "chosen": form.answers[question.key],
            "is_right": form.answers[question.key] == question.right,
            "right": question.right,
            "why": question.why,
            "sources": [source_shown(sources[row]) for row in question.sources if row in sources],
        }
        for _, question in supervisor_questions()
    ]
