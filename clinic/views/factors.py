"""Adding and removing one's own second factors. Each asks for the password again."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from clinic import factors, passkeys
from clinic.accounts import prove_oneself
from clinic.actions import factors as acts
from clinic.doors import for_oneself
from clinic.forms.base import add_refusals
from clinic.forms.factors import AddApp, NamePasskey, ProveOneself
from clinic.guessing import place_of
from clinic.models import Account, FactorKind, SecondFactor
from clinic.record import Refused
from clinic.views.own_account import own

SECRET, PASSKEY = "app_to_add", "passkey_to_add"


@for_oneself
def factor_app(request: HttpRequest) -> HttpResponse:
    """A square for the app, and its first code. The secret waits in the session, locked up, and is shown on this page only."""
    mine = own(request)
    form = AddApp(request.POST or None)
    secret = factors.taken_out(request.session.get(SECRET, "")) if request.session.get(SECRET) else None
    if form.is_valid() and (known := added_before(request, mine, form.fact_id)):
        return known
    if form.is_valid() and secret:
        try:
            prove_oneself(mine, form.cleaned_data["password"], at=place_of(request))
            codes = acts.add_app(mine, form.cleaned_data["label"], secret, form.cleaned_data["code"], id=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            request.session.pop(SECRET, None)
            return now_added(request, mine, codes)
    if secret is None:
        secret = factors.new_secret()
        request.session[SECRET] = factors.lock_up(secret)
    shown = {"form": form, "secret": secret, "letter": factors.letter_of(secret, mine)}
    return render(request, "clinic/account/app.html", shown)


def added_before(request: HttpRequest, mine: Account, id: UUID) -> HttpResponse | None:
    """The answer to a form that was sent again."""
    if not SecondFactor.objects.filter(pk=id, account=mine).exists():
        return None
    messages.success(request, "It is added. If you have not seen the recovery codes, make new ones.")
    return redirect("clinic:account")


def now_added(request: HttpRequest, mine: Account, codes: list[str]) -> HttpResponse:
    """From now on it is asked for. The first one comes with recovery codes, shown this once."""
    factors.note_demand(request.session, mine)
    if codes:
        return render(request, "clinic/account/codes.html", {"codes": codes, "first": True})
    messages.success(request, "It is added: the next sign-in takes it too.")
    return redirect("clinic:account")


@for_oneself
def factor_passkey(request: HttpRequest) -> HttpResponse:
    """Name and password first; then the browser makes the passkey, for a challenge that is good once."""
    mine, at = own(request), passkeys.here(request)
    if at is None:
        return render(request, "clinic/account/no_passkeys.html")
    if "credential" in request.POST:
        return passkey_made(request, mine, at)
    form = NamePasskey(request.POST or None)
    if form.is_valid():
        try:
            prove_oneself(mine, form.cleaned_data["password"], at=place_of(request))
        except Refused as refused:
            add_refusals(form, refused)
        else:
            return asks_browser(request, mine, at, {"label": form.cleaned_data["label"], "id": str(form.fact_id)})
    return render(request, "clinic/account/passkey.html", {"form": form})


def asks_browser(
    request: HttpRequest, mine: Account, at: passkeys.RegisterOrigin, kept: dict[str, str], says: str = ""
) -> HttpResponse:
    known = factors.living(mine).filter(kind=FactorKind.PASSKEY, host=at.host)
    options, kept["challenge"] = passkeys.options_to_make(mine, at, known)
    request.session[PASSKEY] = kept
    shown = {"options": options, "label": kept["label"], "says": says}
    return render(request, "clinic/account/passkey_make.html", shown)


def passkey_made(request: HttpRequest, mine: Account, at: passkeys.RegisterOrigin) -> HttpResponse:
    kept: dict[str, Any] | None = request.session.pop(PASSKEY, None)
    if kept is None:
        return redirect("clinic:account")
    made = passkeys.made(request.POST["credential"], kept["challenge"], at)
    try:
        codes = acts.add_passkey(mine, kept["label"], made, id=UUID(kept["id"]))
    except Refused as refused:
        return asks_browser(request, mine, at, kept, str(refused))
    return now_added(request, mine, codes)


@for_oneself
def factor_remove(request: HttpRequest, second_factor: UUID) -> HttpResponse:
    mine = own(request)
    row = get_object_or_404(mine.second_factors, pk=second_factor)
    if row.ended_at is not None:  # sent again, or from a page that lay open: what was wanted is done
        return removed(request, row)
    form = ProveOneself(request.POST or None)
    if form.is_valid():
        try:
            prove_oneself(mine, form.cleaned_data["password"], at=place_of(request))
            acts.remove(row)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            return removed(request, row)
    return render(request, "clinic/account/remove.html", {"form": form, "factor": row})


def removed(request: HttpRequest, row: SecondFactor) -> HttpResponse:
    messages.success(request, f"“{row.label}” is asked for no more.")
    return redirect("clinic:account")


@for_oneself
def recovery_codes(request: HttpRequest) -> HttpResponse:
    """Ten new ones in the place of those that are left; shown once, to whoever proved their password."""
    mine = own(request)
    form = ProveOneself(request.POST or None)
    if form.is_valid():
        try:
            prove_oneself(mine, form.cleaned_data["password"], at=place_of(request))
            codes = acts.new_codes(mine)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            return render(request, "clinic/account/codes.html", {"codes": codes, "first": False})
    return render(request, "clinic/account/codes_new.html", {"form": form, "left": factors.codes_left(mine)})
