"""Guesses at passwords are counted before they are looked at, each by one statement that counts or refuses: twelve at once
count as twelve. Tries during a pause are not looked at, so they neither count nor lengthen it.

A device on which somebody has signed in before is counted apart for that name. Whatever strangers try elsewhere, its person
goes on signing in and signing there (row A-05: no permanent lock by a stranger).

The limits of a name never fade with time, only by a right password: 80 from anywhere and 20 from devices it knows are the
hundred consecutive tries of NIST SP 800-63B-4 3.2.2. After them one in each quarter of an hour is looked at.

A ready-made library counts after the password was hashed, which lets as many guesses through as arrive meanwhile.
"""

import hashlib
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

from django.conf import settings
from django.db import transaction
from django.db.models import Case, F, Q, Value, When
from django.http import HttpRequest, HttpResponse

from clinic import clock
from clinic.models import Account, KnownDevice, TryCount

PAUSE = timedelta(minutes=15)
FROM_ANYWHERE, FROM_KNOWN = 80, 20  # for one name, until it is proved
FROM_ONE_PLACE = 100  # for any name
FORGOTTEN_AFTER = timedelta(days=30)
TO_SIGN = 5
DEVICE_LASTS = 400 * 24 * 3600  # seconds, the longest that browsers keep a cookie


@dataclass(frozen=True, slots=True)
class TryOrigin:
    """Where a try comes from: the visitor's address, and what their browser says of itself (empty: nothing)."""

    address: str = ""
    device: str = ""


@dataclass(frozen=True, slots=True)
class Run:
    """A run of tries that is counted together. `fades`: a quarter of an hour without one begins it anew."""

    words: tuple[str, ...]
    limit: int
    fades: bool = True

    @property
    def key(self) -> str:
        return digest_of("\0".join(self.words))


def digest_of(words: str) -> str:
    return hashlib.sha256(words.encode("utf-8", "surrogatepass")).hexdigest()


def place_of(request: HttpRequest) -> TryOrigin:
    return TryOrigin(visitors_address(request), request.COOKIES.get(device_cookie(), "")[:64])


def visitors_address(request: HttpRequest) -> str:
    """Where the visitor is: behind a proxy what the proxy saw last, which nobody but the proxy can write."""
    seen = request.META.get("HTTP_X_FORWARDED_FOR", "") if settings.BEHIND_PROXY else ""
    return seen.rpartition(",")[2].strip() or str(request.META.get("REMOTE_ADDR", ""))


def runs_of(what: str, name: str, place: TryOrigin, limit: int) -> list[Run]:
    """What a try for a name is counted by. A name that nobody has is counted the same: nothing tells it from others."""
    name = name.strip().casefold()
    if knows(name, place.device):
        return [Run((what, name, "device", place.device), limit), Run(("known", name), FROM_KNOWN, fades=False)]
    return [
        Run((what, name, "place", place.address), limit),
        Run(("name", name), FROM_ANYWHERE, fades=False),
        Run(("place", place.address), FROM_ONE_PLACE),
    ]


def to_sign_in(name: str, place: TryOrigin) -> list[Run]:
    return runs_of("sign in", name, place, settings.SIGN_IN_TRIES)


def to_sign(name: str, place: TryOrigin) -> list[Run]:
    return runs_of("sign", name, place, TO_SIGN)


def to_prove_second(name: str, place: TryOrigin) -> list[Run]:
    """Codes after a right password. Counted apart: the password that comes before each of them takes nothing back."""
    name = name.strip().casefold()
    if knows(name, place.device):
        return [
            Run(("second", name, "device", place.device), TO_SIGN),
            Run(("second known", name), FROM_KNOWN, fades=False),
        ]
    return [
        Run(("second", name, "place", place.address), TO_SIGN),
        Run(("second name", name), FROM_ANYWHERE, fades=False),
    ]


def charge(runs: Sequence[Run]) -> bool:
    """Count one try in every run, or in none: False where one of them pauses."""
    with transaction.atomic():
        counted = all(count(run) for run in sorted(runs, key=lambda run: run.key))
        if not counted:
            transaction.set_rollback(True)
    return counted


def count(run: Run) -> bool:
    now = clock.now()
    TryCount.objects.bulk_create([TryCount(key=run.key, last_at=now)], ignore_conflicts=True)
    over = Q(last_at__lte=now - PAUSE)
    more = Case(When(over, then=Value(1)), default=F("failures") + 1) if run.fades else F("failures") + 1
    rows = TryCount.objects.filter(over | Q(failures__lt=run.limit), key=run.key)
    return rows.update(failures=more, last_at=now) == 1


def forget(runs: Sequence[Run]) -> None:
    """The password was right: these runs end. What was tried from the same place for other names stays."""
    mine = [run.key for run in runs if run.words[0] != "place"]
    TryCount.objects.filter(Q(key__in=mine) | Q(last_at__lt=clock.now() - FORGOTTEN_AFTER)).delete()


def device_cookie() -> str:
    return "__Host-device" if settings.HTTPS else "device"


def knows(name: str, device: str) -> bool:
    """Whether this name was proved on this device before."""
    rows = KnownDevice.objects.filter(account__in=Account.objects.called(name), digest=digest_of(device))
    return bool(device) and rows.exists()


def remember(request: HttpRequest, response: HttpResponse, account: Account) -> str:
    """From now on the device is known to this account. The cookie says nothing of whose it is. Returns the digest of it."""
    device = place_of(request).device
    if not KnownDevice.objects.filter(digest=digest_of(device)).exists():
        device = secrets.token_urlsafe(32)
    KnownDevice.objects.get_or_create(account=account, digest=digest_of(device), defaults={"since": clock.now()})
    response.set_cookie(
        device_cookie(), device, max_age=DEVICE_LASTS, httponly=True, secure=settings.HTTPS, samesite="Lax"
    )
    return digest_of(device)
