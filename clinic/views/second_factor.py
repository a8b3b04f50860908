"""The second step of signing in: a code of an app, a passkey, or a recovery code."""

import logging
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache

from clinic import guessing, passkeys
from clinic.actions.factors import use_code
from clinic.factors import app_of, living
from clinic.forms.factors import ProveSecond
from clinic.models import Account, FactorKind, SecondFactor
from clinic.signing_in import WAITS, open_session, waiting

logger = logging.getLogger(__name__)
WRONG = "That is not right, or it was used before. Wait for the next code, or take another recovery code."


@never_cache
def second_factor(request: HttpRequest) -> HttpResponse:
    """Opens the session of whoever proved their password a moment ago."""
    found = waiting(request)
    if found is None:
        return redirect("clinic:home" if request.allowed else "clinic:sign_in")
    account, kept = found
    form = ProveSecond(request.POST or None)
    if form.is_valid():
        if not guessing.charge(runs := guessing.to_prove_second(account.sign_in_name, guessing.place_of(request))):
            logger.warning("The second factor of %r is paused: too many wrong codes.", account.sign_in_name)
            return render(request, "clinic/account/paused.html", status=429)
        if second := proved(request, account, kept, form.cleaned_data):
            guessing.forget(runs)
            return open_session(request, account, kept["to"], second)
        logger.warning(
            "A wrong second factor for %r from %s.", account.sign_in_name, guessing.visitors_address(request)
        )
        form.add_error(None, WRONG)
    return asks(request, form, account, kept)


def proved(request: HttpRequest, account: Account, kept: dict[str, Any], given: dict[str, Any]) -> str:
    """What was proved, in words; empty: nothing. A challenge is answered once."""
    at, challenge = passkeys.here(request), kept.pop("challenge", "")
    if given["credential"]:
        known = passkeys_of(account, at)
        return str((at and challenge and passkeys.proved(given["credential"], challenge, at, known)) or "")
    app, code = app_of(account, given["code"]), use_code(account, given["code"])  # both are looked at, whatever it is
    return str(app) if app else "recovery code" if code else ""


def passkeys_of(account: Account, at: passkeys.RegisterOrigin | None) -> list[SecondFactor]:
    """Those that can prove something under the name by which the register is open here."""
    return list(living(account).filter(kind=FactorKind.PASSKEY, host=at.host)) if at else []


def asks(request: HttpRequest, form: ProveSecond, account: Account, kept: dict[str, Any]) -> HttpResponse:
    at, options = passkeys.here(request), ""
    if at and (known := passkeys_of(account, at)):
        options, kept["challenge"] = passkeys.options_to_prove(at, known)
    request.session[WAITS] = kept
    return render(request, "clinic/account/second_factor.html", {
        "form": form,
        "options": options,
        "has_app": living(account).filter(kind=FactorKind.APP).exists(),
        "elsewhere": living(account).filter(kind=FactorKind.PASSKEY).exists() and not options,
    })  # fmt: skip
