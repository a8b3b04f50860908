"""Proving again who signs, and remembering within one session that name and password were both given (row E-20)."""

from typing import Any

from django.http import HttpRequest

from clinic import clock
from clinic.accounts import prove
from clinic.guessing import place_of
from clinic.models import Account, Person, Site
from clinic.record import Refusal, refuse_if
from training.actions.proof import Proved
from training.forms.signing import Proof

PROVED = "proved"
BOTH = "sign-in name and password"
PASSWORD = "password; sign-in name and password were given before in the same session"


def known_as(request: HttpRequest) -> str:
    """The sign-in name that was proved with its password in this session, since its last sign-in; else empty.

    Unlocking an idle tablet signs in anew, so both are asked again then (row E-21).
    """
    kept = request.session.get(PROVED)
    account: Any = request.user
    return account.sign_in_name if kept is not None and kept == mark_of(account) else ""


def mark_of(account: Any) -> list[str]:
    return [str(account.pk), account.last_login.isoformat() if account.last_login else ""]


def proven(request: HttpRequest, site: Site, form: Proof) -> tuple[Account, Proved]:
    """Whoever signs, proved. Raises Refused, at the field that is wrong. Remembered only for whoever is signed in."""
    account = prove(form.name, form.cleaned_data["password"], site=site, at=place_of(request))
    how = PASSWORD if form.by_password_alone else BOTH
    if account == request.user:
        request.session[PROVED] = mark_of(request.user)
    return account, Proved(how, clock.now())


def proven_here(request: HttpRequest, site: Site, form: Proof) -> tuple[Person, Proved]:
    """Whoever is signed in, proved again. What one may put right depends on who opened the page, so nobody else signs it."""
    account, proved = proven(request, site, form)
    me = request.allowed.person
    refuse_if(
        Refusal(
            f"{me} opened this page, and only {me} signs it.", "Sign in yourself, and open it again.", "sign_in_name"
        )
        if account.person != me
        else None
    )
    return me, proved
