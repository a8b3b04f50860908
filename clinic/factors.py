"""Second factors: the codes of an app (RFC 6238), recovery codes, and of whom one is asked. Passkeys: `clinic.passkeys`.

The secret of an app lies encrypted in the database, under a key made from the register's own secret: a copy of the database
alone makes no codes. Where that secret is lost, so are the apps; the remedy is a recovery with the second factor lost.
"""

import base64
import hashlib
import logging
import secrets
from datetime import date
from typing import Any

import pyotp
from cryptography.fernet import Fernet, InvalidToken
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings
from django.contrib.sessions.backends.base import SessionBase
from django.db.models import QuerySet
from django.http import HttpRequest
from pyotp.exceptions import OTPVerificationError

from clinic import clock
from clinic.models import Account, Appointment, FactorKind, RecoveryCode, SecondFactor
from clinic.models.people import holds_on
from clinic.rules.second_factor import DEMANDED, last_day_without

logger = logging.getLogger(__name__)
SKEW = 1  # steps of 30 seconds that a clock may be off, each way (RFC 6238, 5.2: at most one is recommended)
CODES = 10
LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"  # none that looks like another
GROUPS, GROUP = 6, 4
MUST_ADD_BY, PROVED = "must_add_factor_by", "second_factor"


def living(account: Account) -> "QuerySet[SecondFactor]":
    """What is asked of the account after its password."""
    return account.second_factors.filter(ended_at__isnull=True)


# The secret of an app.


def safe() -> Fernet:
    made = HKDF(algorithm=SHA256(), length=32, salt=None, info=b"second factors").derive(settings.SECRET_KEY.encode())
    return Fernet(base64.urlsafe_b64encode(made))


def new_secret() -> str:
    """160 bits, as RFC 4226 section 4 recommends, in the letters that apps take."""
    return pyotp.random_base32(32)


def lock_up(secret: str) -> str:
    return safe().encrypt(secret.encode()).decode()


def taken_out(token: str) -> str | None:
    """None where the register's secret is another than when it was locked up."""
    try:
        return safe().decrypt(token.encode()).decode()
    except InvalidToken:
        logger.error("The secret of a second factor cannot be read: MILLROOM_SECRET is not what it was.")
        return None


def step_of(secret: str, code: str) -> int | None:
    """The step of 30 seconds whose code this is: the one now, or a neighbour. None where it is nobody's."""
    try:
        return pyotp.TOTP(secret).verify_and_get_timecode(code, for_time=clock.now(), valid_window=SKEW)
    except OTPVerificationError:
        return None


def letter_of(secret: str, account: Account) -> str:
    """What an app reads from the square."""
    return pyotp.TOTP(secret).provisioning_uri(name=account.sign_in_name, issuer_name="Millroom Register")


def typed(code: str) -> str:
    """As it is compared: without spaces and hyphens, small letters."""
    return "".join(code.split()).replace("-", "").lower()


def app_of(account: Account, code: str) -> SecondFactor | None:
    """The app whose code this is. A step is taken once, and none before it: two who send it at once get one yes."""
    found = None
    for app in living(account).filter(kind=FactorKind.APP):
        secret = taken_out(app.secret)
        step = step_of(secret, typed(code)) if secret else None
        rows = SecondFactor.objects.filter(pk=app.pk, ended_at__isnull=True, counter__lt=step or 0)
        if step and rows.update(counter=step, used_at=clock.now()):
            found = app
    return found


# Recovery codes.


def new_recovery_codes(account: Account) -> list[str]:
    """Ten new ones; the old ones end. Returned once. 24 letters of 31 are 118 bits, so that a plain digest is safe to keep
    (ASVS 5.0 6.5.2: from 112 bits on)."""
    codes = [
        "-".join("".join(secrets.choice(LETTERS) for _ in range(GROUP)) for _ in range(GROUPS)) for _ in range(CODES)
    ]
    account.recovery_codes.all().delete()
    now = clock.now()
    RecoveryCode.objects.bulk_create(
        [RecoveryCode(account=account, digest=digest_of(code), made_at=now) for code in codes]
    )
    return codes


def digest_of(code: str) -> str:
    return hashlib.sha256(typed(code).encode("utf-8", "surrogatepass")).hexdigest()


def codes_left(account: Account) -> int:
    return account.recovery_codes.filter(used_at__isnull=True).count()


def take_recovery_code(account: Account, code: str) -> bool:
    """Use it up. Two who send it at once get one yes."""
    rows = account.recovery_codes.filter(digest=digest_of(code), used_at__isnull=True)
    return rows.update(used_at=clock.now()) == 1


# Of whom one is asked.


def without_until(account: Account, *, as_if_without: bool = False) -> date | None:
    """The last day on which this account opens by password alone. None: it has a second factor, or needs none."""
    day = clock.today(account.person.home_site.time_zone)
    posts = Appointment.objects.filter(holds_on(day), person=account.person_id, post__in=DEMANDED)
    since = clock.local(account.created_at, account.person.home_site.time_zone).date()
    last = last_day_without(posts.values_list("from_day", flat=True), since)
    return last if as_if_without or last is None or not living(account).exists() else None


def begin(sender: Any, request: HttpRequest, user: Any, **kwargs: Any) -> None:
    """A session begins: until when its person may do without is kept in it, so that no page asks the database."""
    note_demand(request.session, user)


def note_demand(session: SessionBase, account: Account) -> date | None:
    last = without_until(account)
    if last:
        session[MUST_ADD_BY] = last.isoformat()
    else:
        session.pop(MUST_ADD_BY, None)
    return last


def add_by(session: SessionBase) -> date | None:
    """What the pages of this session say."""
    kept = session.get(MUST_ADD_BY)
    return date.fromisoformat(kept) if kept else None


def is_confined(request: HttpRequest, account: Account) -> bool:
    """Whether the time is over: nothing opens but one's own account, where a second factor is added."""
    day = clock.today(account.person.home_site.time_zone)
    last = add_by(request.session)
    if last is None or day <= last:
        return False
    last = note_demand(request.session, account)  # it may have been added in another session
    return last is not None and day > last
