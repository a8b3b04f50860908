"""Proving again who signs, and remembering within one session that name and password were both given (row E-20)."""

from typing import Any

from django.http import HttpRequest

from clinic import clock, pins
from clinic.accounts import prove
from clinic.guessing import place_of
from clinic.models import Account, Person, Pin, Site
from clinic.record import Refusal, refuse_if
from training.actions.proof import Proved
from training.forms.signing import BeforeSigning, Proof

PROVED = "proved"
BOTH = "sign-in name and password"
PASSWORD = "password; sign-in name and password were given before in the same session"


def known_as(request: HttpRequest) -> BeforeSigning:
    """Who was proved by both parts in this session, since its last sign-in, and whose PIN counts on this device.

    Unlocking an idle tablet signs in anew, so both are asked again then (row E-21).
    """
    kept = request.session.get(PROVED)
    account: Any = request.user
    proved = account.sign_in_name if kept is not None and kept == mark_of(account) else ""
    here = {row.account_id for row in pins.counting(place_of(request).device)}
    return BeforeSigning(proved, account.sign_in_name if account.pk in here else "", bool(here))


def mark_of(account: Any) -> list[str]:
    return [str(account.pk), account.last_login.isoformat() if account.last_login else ""]


def proven(request: HttpRequest, site: Site, form: Proof) -> tuple[Account, Proved]:
    """Whoever signs, proved. Raises Refused, at the field that is wrong. Remembered only for whoever is signed in."""
    secret, at = form.cleaned_data["password"], place_of(request)
    account, pin = (
        pins.prove(form.name, secret, site=site, at=at)
        if form.by_pin
        else (prove(form.name, secret, site=site, at=at), None)
    )
    how = PASSWORD if form.by_password_alone else BOTH
    if pin:
        how = pin_words(pin, site, alone=form.by_password_alone)
    if account == request.user:
        request.session[PROVED] = mark_of(request.user)
    return account, Proved(how, clock.now())


def pin_words(pin: Pin, site: Site, *, alone: bool) -> str:
    """What an inspector reads of a signature by PIN: which parts were sent, and what the PIN rests on."""
    assert pin.opened_at is not None
    parts = "PIN; the sign-in name was sent before in the same session" if alone else "sign-in name and PIN"
    return f"{parts}; the password was given on this device at {clock.local(pin.opened_at, site.time_zone):%H:%M}"


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
