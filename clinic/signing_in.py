"""From a right password to an open session: at once, or after the second factor.

What waits for its second factor opens nothing: the session stays a stranger's, or that of whoever left the tablet locked.
"""

from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.contrib.auth import SESSION_KEY, login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.crypto import constant_time_compare

from clinic import clock, guessing, pins, sessions
from clinic.accounts import AtWork
from clinic.actions.recovery import told_since
from clinic.factors import PROVED, living
from clinic.lock import SIGNED_IN
from clinic.models import Account, Person, Pin

WAITS = "waits_for_second_factor"
WAITS_FOR = timedelta(minutes=10)
TELLS_FOR = timedelta(days=14)


def let_in(request: HttpRequest, account: Account, to: str) -> HttpResponse:
    """The password was right. Where the account has a second factor, it is asked for; otherwise the session opens."""
    if not living(account).exists():
        return open_session(request, account, to)
    request.session[WAITS] = {
        "account": account.pk, "hash": account.get_session_auth_hash(), "at": clock.now().timestamp(), "to": to,
    }  # fmt: skip
    return redirect("clinic:second_factor")


def waiting(request: HttpRequest) -> tuple[Account, dict[str, Any]] | None:
    """Whose second factor is waited for here, and what goes with it. Over after ten minutes, and with another password."""
    kept = request.session.get(WAITS)
    if not kept or not 0 <= clock.now().timestamp() - kept["at"] <= WAITS_FOR.total_seconds():
        return None
    account = AtWork().get_user(kept["account"])
    same = account is not None and constant_time_compare(kept["hash"], account.get_session_auth_hash())
    return (account, kept) if account and same else None


def open_session(request: HttpRequest, account: Account, to: str, second: str = "") -> HttpResponse:
    """Everything is proved. `second`: what was proved after the password, in words; empty: nothing was asked."""
    request.session.pop(WAITS, None)
    login(request, account, backend="clinic.accounts.AtWork")
    request.session[PROVED] = second
    tell_of_recovery(request, account.person)
    request.session[pins.HAS_PIN] = pins.password_given(account, guessing.place_of(request).device, second)
    response = redirect(to)
    sessions.row_of(request).update(device=guessing.remember(request, response, account))
    return response


def open_by_pin(request: HttpRequest, pin: Pin, to: str) -> HttpResponse:
    """The PIN was right. The session is a part of the one that the password opened on this device: it ends when that would
    have, and what was proved after the password then counts still."""
    own = request.session.get(SESSION_KEY) == str(pin.account_id)
    login(request, pin.account, backend="clinic.accounts.AtWork")
    if own:
        request.session.cycle_key()
        sessions.follow(request)
    request.session.pop(WAITS, None)
    assert pin.opened_at is not None
    kept = {SIGNED_IN: pin.opened_at.timestamp(), PROVED: pin.second, pins.HAS_PIN: True}
    request.session.update(kept)
    sessions.row_of(request).update(device=pin.device)
    tell_of_recovery(request, pin.account.person)
    return redirect(to)


def tell_of_recovery(request: HttpRequest, person: Person) -> None:
    """At each sign-in for two weeks: the first to sign in may be whoever took the account."""
    for told in told_since(person, clock.now() - TELLS_FOR):
        messages.warning(request, f"{told} If you did not want this, tell the owner now.")
