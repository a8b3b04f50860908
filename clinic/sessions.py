"""Where somebody is signed in: each session with a row of its own beside it, so that its person sees it and can end it.

A session that was ended answers nothing from its next request on: its row in the database is gone.
"""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from django.contrib.sessions.models import Session
from django.db.models import QuerySet
from django.http import HttpRequest

from clinic import clock
from clinic.factors import PROVED
from clinic.guessing import visitors_address
from clinic.lock import LAST_SEEN
from clinic.models import Account, SignedIn
from clinic.rules.devices import device_in_words

ROW = "signed_in_row"


@dataclass(frozen=True, slots=True)
class OpenSession:
    """One session as its person reads it."""

    id: UUID
    device: str
    address: str
    began_at: datetime
    touched_at: datetime
    second: str  # what was proved after the password; empty: nothing
    is_this: bool


def begin(sender: Any, request: HttpRequest, user: Any, **kwargs: Any) -> None:
    """Write down where it began. Whoever unlocks their own session goes on in it. Rows whose session is over are dropped."""
    if not request.session.session_key:
        request.session.create()
    key, now = str(request.session.session_key), clock.now()
    if not row_of(request).filter(account=user).update(session_key=key):
        row = SignedIn.objects.create(
            account=user, session_key=key, began_at=now,
            address=visitors_address(request)[:64], browser=request.META.get("HTTP_USER_AGENT", "")[:300],
        )  # fmt: skip
        request.session[ROW] = str(row.pk)
    SignedIn.objects.filter(account=user).exclude(session_key__in=alive(user, now)).delete()


def alive(account: Account, now: datetime) -> list[str]:
    keys = account.signed_in.values("session_key")
    return list(Session.objects.filter(session_key__in=keys, expire_date__gt=now).values_list("session_key", flat=True))


def follow(request: HttpRequest) -> None:
    """The session was given another id: its row goes with it."""
    row_of(request).update(session_key=str(request.session.session_key))


def row_of(request: HttpRequest) -> "QuerySet[SignedIn]":
    """The row that this session says is its own; none where it says nothing."""
    kept = request.session.get(ROW)
    return SignedIn.objects.filter(pk=kept) if kept else SignedIn.objects.none()


def of(account: Account, request: HttpRequest) -> list[OpenSession]:
    """Every session that is open, this one first, then the one touched last."""
    rows = {row.session_key: row for row in account.signed_in.all()}
    open_ones = Session.objects.filter(session_key__in=rows, expire_date__gt=clock.now())
    found = [told(rows[each.session_key], each.get_decoded(), request) for each in open_ones]
    return sorted(found, key=lambda each: (not each.is_this, -each.touched_at.timestamp()))


def told(row: SignedIn, data: dict[str, Any], request: HttpRequest) -> OpenSession:
    touched = datetime.fromtimestamp(data.get(LAST_SEEN, row.began_at.timestamp()), UTC)
    is_this = row.session_key == request.session.session_key
    device = device_in_words(row.browser)
    return OpenSession(row.pk, device, row.address, row.began_at, touched, data.get(PROVED, ""), is_this)


def end_others(account: Account, request: HttpRequest) -> int:
    """Every session of the account but this one. Returns how many ended."""
    return end(account, *account.signed_in.exclude(session_key=request.session.session_key))


def end(account: Account, *rows: SignedIn) -> int:
    keys = [row.session_key for row in rows]
    ended, _ = Session.objects.filter(session_key__in=keys).delete()
    account.signed_in.filter(session_key__in=keys).delete()
    return ended
