"""PINs: for wet hands at a shared tablet, in the place of a password that was given there the same day.

A PIN belongs to a person and a device, and counts while all of this holds: its person signed in on that device by password,
and by the second factor they have, on the same day at home and not longer ago than a session lasts; they have not signed out
there since; and it was wrong fewer than five times since, and ten times in a row. Otherwise it is not looked at.

Its hash holds what the cookie of the device holds, which the register does not keep: a copy of the database tries no PIN.
A try is counted before it is looked at, by one statement: twelve at once count as twelve. A right PIN gives none of the day's
tries back; only the password does.
"""

import logging
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.contrib.auth.hashers import check_password, make_password
from django.db.models import F, QuerySet

from clinic import accounts, clock
from clinic.accounts import AtWork
from clinic.factors import living
from clinic.guessing import TryOrigin, digest_of
from clinic.models import Account, Person, Pin, SigningAttempt, Site
from clinic.record import Refusal, Refused
from clinic.rules.pins import TRIES_A_DAY, TRIES_IN_A_ROW, is_pin

HAS_PIN = "has_pin"  # in a session: whether its person has one on this device
logger = logging.getLogger(__name__)
WRONG = Refusal(
    "That is not the PIN, or it counts no more on this tablet today. Nothing was recorded.",
    "Type it again, or the password.",
    "password",
)


def kept(digits: str, device: str) -> str:
    return make_password(f"{device}\0{digits}")


def on_device(device: str) -> "QuerySet[Pin]":
    rows = Pin.objects.filter(device=digest_of(device)) if device else Pin.objects.none()
    return rows.select_related("account__person__home_site")


def counting(device: str) -> list[Pin]:
    """Those that count on this device now, by the name of their person."""
    rows = on_device(device).order_by("account__person__family_name", "account__person__given_name", "pk")
    return [row for row in rows.filter(opened_at__isnull=False) if counts(row)]


def counting_for(account: Account, device: str) -> Pin | None:
    return next((row for row in counting(device) if row.account_id == account.pk), None)


def counts(pin: Pin) -> bool:
    return (
        pin.wrong_today < TRIES_A_DAY
        and pin.wrong_in_a_row < TRIES_IN_A_ROW
        and is_of_today(pin)
        and AtWork().user_can_authenticate(pin.account)
        and bool(pin.second or not living(pin.account).exists())
    )


def is_of_today(pin: Pin) -> bool:
    """Whether the password was given on its device today, and not longer ago than a session lasts."""
    if pin.opened_at is None:
        return False
    now, zone = clock.now(), pin.account.person.home_site.time_zone
    lasts = timedelta(seconds=settings.SESSION_COOKIE_AGE)
    return timedelta() <= now - pin.opened_at <= lasts and clock.local(pin.opened_at, zone).date() == clock.today(zone)


def is_right(pin: Pin, digits: str, device: str) -> bool:
    """Counted first, and looked at only where it may be."""
    tries = Pin.objects.filter(
        pk=pin.pk, opened_at=pin.opened_at, wrong_today__lt=TRIES_A_DAY, wrong_in_a_row__lt=TRIES_IN_A_ROW
    )
    counted = tries.update(wrong_today=F("wrong_today") + 1, wrong_in_a_row=F("wrong_in_a_row") + 1) == 1
    if not counted or not check_password(f"{device}\0{digits}", pin.proof):
        logger.warning("A wrong PIN, or one too many, for %r.", pin.account.sign_in_name)
        return False
    Pin.objects.filter(pk=pin.pk, wrong_today__gt=0).update(wrong_today=F("wrong_today") - 1, wrong_in_a_row=0)
    return True


def try_pin(pin: Pin, digits: str, device: str, site: Site) -> bool:
    """As a try to sign, which the owner sees where it fails (row E-27)."""
    right = is_right(pin, digits, device)
    SigningAttempt.objects.create(account=pin.account, at=clock.now(), succeeded=right, site=site)
    return right


def prove(name: str, secret: str, *, site: Site, at: TryOrigin) -> tuple[Account, Pin | None]:
    """Who signs, proved again by a PIN that counts here, or by the password; and which PIN it was. Raises Refused."""
    if not is_pin(secret):
        account = accounts.prove(name, secret, site=site, at=at)
        password_again(account, at.device)
        return account, None
    called = Account.objects.called(name).first()
    pin = counting_for(called, at.device) if called else None
    if pin is None or not try_pin(pin, secret, at.device, site):
        raise Refused(WRONG)
    accounts.only_if_identified(pin.account)
    return pin.account, pin


def people_here(device: str) -> list[Person]:
    """Whose PIN counts on this device now, by name."""
    return [row.account.person for row in counting(device)]


def person_by_pin(person: Person, digits: str, device: str, site: Site) -> Person:
    """Somebody who says by PIN that it is them, at a tablet that somebody else is signed in at. Raises Refused."""
    pin = next((row for row in counting(device) if row.account.person_id == person.pk), None)
    if pin is None or not try_pin(pin, digits, device, site):
        raise Refused(Refusal(WRONG.says, "Type it again, or leave it empty: then the entry says who typed it.", "pin"))
    return person


def password_given(account: Account, device: str, second: str) -> bool:
    """A sign-in by everything that is asked: from now on the PIN of this person counts on this device, if there is one."""
    mine = on_device(device).filter(account=account)
    return mine.update(opened_at=clock.now(), second=second[:80], wrong_today=0) == 1


def password_again(account: Account, device: str) -> None:
    """The password was right on this device: what was tried at the PIN meanwhile is forgiven. The day is not lengthened."""
    on_device(device).filter(account=account).update(wrong_today=0)


def signed_out(account_id: Any, device: str) -> None:
    """The day's session of this person on this device is over: their PIN waits for the next password."""
    on_device(device).filter(account=account_id).update(opened_at=None, second="")
