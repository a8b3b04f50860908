"""The walk round: what is answered, what is missing, and one question at a time where one stands."""

from collections.abc import Iterator
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from clinic import lock
from clinic.answers import gone, kept_under, refusals_in, wants_data
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.models import Site
from clinic.permissions import May
from clinic.record import Refused
from clinic.rules.words import counted
from training.actions.walk import WalkAnswer, answer_walk
from training.forms.walk import WalkForm
from training.reads.walk import QuestionSquares, walk_round


@door(May.OWN_RECORD, May.READ_SITE)
def walk(request: HttpRequest, site: Site) -> HttpResponse:
    asked = walk_round(site, request.today)
    total, missing = sum(len(each.squares) for each in asked), [s for each in asked for s in each.missing]
    may = request.allowed.may(May.ROSTER, site) or request.allowed.may(May.SIGN, site)
    known = {"asked": asked, "total": total, "missing": missing, "answered": total - len(missing), "may_answer": may}
    return render(
        request, "training/walk/walk.html", known | {"next": next((each for each in asked if each.missing), None)}
    )


@door(May.ROSTER, May.SIGN)
def answer(request: HttpRequest, site: Site) -> HttpResponse:
    """`?question=3` is the question to answer. Only what is new is recorded; everything else stays."""
    asked = walk_round(site, request.today)
    here = next((each for each in asked if str(each.question.number) == request.GET.get("question", "1")), None)
    if here is None:
        raise Http404("The walk round has no such question.")
    form = WalkForm(here.squares, request.POST or None)
    lock.hold(request)
    if form.is_valid() and answered(request, site, here, form):
        return gone(request, next_address(site, asked, here))
    if request.method == "POST" and wants_data(request):
        return refusals_in(form)
    known = {
        "here": here,
        "form": form,
        "squares": [(square, form.pair(square)) for square in here.squares],
        "total": len(asked),
        "kept": kept_under(request, site, request.allowed.person, "Walk round", f"Question {here.question.number}"),
    }
    return render(request, "training/walk/answer.html", known)


def answered(request: HttpRequest, site: Site, here: QuestionSquares, form: WalkForm) -> bool:
    new = said(here, form.cleaned_data)
    try:
        done = answer_walk(new, site=site, by=request.allowed.person, submission=form.fact_id)
    except Refused as refused:
        add_refusals(form, refused)
        return False
    messages.success(request, f"{counted(len(done), 'answer')} recorded.")
    return True


def said(here: QuestionSquares, values: dict[str, Any]) -> Iterator[WalkAnswer]:
    for square in here.squares:
        yield WalkAnswer(square.fact, square.unit, values[square.name], values[f"{square.name}-not"])


def next_address(site: Site, asked: list[QuestionSquares], here: QuestionSquares) -> str:
    """The next question that has something to answer; after the last, the whole walk."""
    later = next((each for each in asked if each.question.number > here.question.number and each.squares), None)
    if later is None:
        return reverse("training:walk", args=[site.code])
    return f"{reverse('training:walk_answer', args=[site.code])}?question={later.question.number}"
