"""Opening an account anew: one person asks, a second proves who they are and confirms."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from clinic.accounts import prove
from clinic.actions.recovery import (
    CODE_LASTS,
    Step,
    ask_recovery,
    confirm_recovery,
    is_over,
    mailable,
    refusals_to_confirm,
)
from clinic.doors import door
from clinic.forms.accounts import AskRecovery, ConfirmRecovery
from clinic.forms.base import add_refusals
from clinic.guessing import place_of
from clinic.models import Account, AccountRecovery, Person, Site
from clinic.network import for_others
from clinic.permissions import May
from clinic.record import Refusal, Refused, refuse_if


@door(May.ROSTER)
def recovery_ask(request: HttpRequest, site: Site, person: UUID) -> HttpResponse:
    """Only at the person's own site: elsewhere nobody knows who stands before them."""
    who = get_object_or_404(Person.objects.select_related("home_site"), pk=person, home_site=site)
    account = get_object_or_404(Account, person=who)
    form = AskRecovery(request.POST or None)
    if form.is_valid():
        try:
            asked = ask_recovery(
                who,
                by=request.allowed.person,
                how=form.cleaned_data["how"],
                factor_lost=form.cleaned_data["factor_lost"],
                id=form.fact_id,
            )
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, "It is asked for. Now a second person confirms it on this page.")
            return redirect("clinic:recovery", site=site.code, account_recovery=asked.pk)
    return render(request, "clinic/roster/recovery_ask.html", {"form": form, "person": who, "account": account})


@door(May.ROSTER, May.SIGN, May.APPROVE)
def recovery(request: HttpRequest, site: Site, account_recovery: UUID) -> HttpResponse:
    """What was asked, by whom, and the proof of whoever confirms it."""
    rows = AccountRecovery.objects.filter(step=Step.ASKED, site=site).select_related("person__home_site", "recorded_by")
    asked: AccountRecovery = get_object_or_404(rows, pk=account_recovery)
    me = request.allowed.person
    form = ConfirmRecovery(mailable(asked.person), request.POST or None)
    if form.is_valid():
        try:
            return confirmed(request, site, asked, form)
        except Refused as refused:
            add_refusals(form, refused)
    steps = list(asked.steps.select_related("recorded_by").order_by("recorded_at"))
    used = any(step.step == Step.USED for step in steps)
    shown = {"form": form, "asked": asked, "steps": steps, "used": used, "refusals": refusals_to_confirm(asked, me)}
    shown["mends"] = ways_on(request, site, asked)
    return render(request, "clinic/roster/recovery.html", shown)


def ways_on(request: HttpRequest, site: Site, asked: AccountRecovery) -> list[tuple[str, str]]:
    """Where it is asked for anew, once it waited too long."""
    may_ask = request.allowed.may(May.ROSTER, site) and asked.person.home_site_id == site.pk
    href = reverse("clinic:recovery_ask", args=[site.code, asked.person_id])
    return [("Ask for it anew", href)] if may_ask and is_over(asked) else []


def confirmed(request: HttpRequest, site: Site, asked: AccountRecovery, form: Any) -> HttpResponse:
    """The slip, shown this once to whoever just proved who they are; or back, where the code was mailed."""
    me, given = request.allowed.person, form.cleaned_data
    if AccountRecovery.objects.filter(pk=form.fact_id, asking=asked).exists():  # sent again: a code is shown once
        return redirect("clinic:recovery", site=site.code, account_recovery=asked.pk)
    refuse_if(*refusals_to_confirm(asked, me))
    account = prove(given["sign_in_name"], given["password"], site=site, at=place_of(request))
    if account.person != me:
        raise Refused(Refusal(f"Only {me} confirms on this page.", "Sign in yourself, and open it.", "sign_in_name"))
    address, here_only = for_others(request, reverse("clinic:invitation", kwargs={"code": "CODE"}))
    code = confirm_recovery(
        asked, by=me, way=given["way"], proved="sign-in name and password",
        address=address.replace("CODE", "{code}"), id=form.fact_id,
    )  # fmt: skip
    if not code:
        messages.success(request, f"Confirmed. The code was mailed to {asked.person}; nobody else saw it.")
        return redirect("clinic:recovery", site=site.code, account_recovery=asked.pk)
    hours = int(CODE_LASTS.total_seconds() // 3600)
    shown = {"person": asked.person, "account": asked.person.account, "code": code, "hours": hours}
    return render(
        request,
        "clinic/roster/recovery_slip.html",
        shown | {"link": address.replace("CODE", code), "here_only": here_only},
    )
