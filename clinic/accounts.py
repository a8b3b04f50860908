"""Signing in, invitations, and proving again who is signing."""

import hashlib
import logging
import secrets
from datetime import datetime, timedelta
from smtplib import SMTPException
from typing import Any

from django.conf import settings
from django.contrib.auth.backends import ModelBackend
from django.contrib.auth.hashers import make_password
from django.contrib.sessions.models import Session
from django.core.exceptions import ValidationError
from django.core.mail import send_mail

from clinic import clock, guessing
from clinic.guessing import TryOrigin
from clinic.models import Account, AccountRecovery, Invitation, Person, SigningAttempt, Site
from clinic.prepared import Instances
from clinic.record import Refusal, Refused

logger = logging.getLogger(__name__)
INVITATION_LASTS = timedelta(days=7)
NOWHERE = TryOrigin()


class AtWork(ModelBackend):
    """Lets in by name and password whoever still works here (or was given a pass). Leaving shuts the door by itself."""

    def user_can_authenticate(self, user: Any) -> bool:
        person = user.person
        return user.is_active and person.is_at_work_on(clock.today(person.home_site.time_zone))

    def get_user(self, user_id: int) -> Account | None:
        account = next(ACCOUNT.rows(key=[int(user_id)]), None)
        return account if account and self.user_can_authenticate(account) else None


ACCOUNT = Instances(
    Account,
    lambda key: Account.objects.filter(pk__in=key).select_related("person__home_site", "person__organisation"),
)


class NotOneWordTwice:
    """Refuses a password that is one short word repeated."""

    def validate(self, password: str, user: Any = None) -> None:
        if any(password == password[:size] * (len(password) // size) for size in range(1, len(password) // 2 + 1)):
            raise ValidationError("The password repeats one word. Add another word.", code="password_repeats")

    def get_help_text(self) -> str:
        return "Not one word repeated."


def invite(account: Account, *, by: Person | None) -> str:
    """A code for choosing the first password, good for seven days."""
    return new_code(account, by=by, until=clock.now() + INVITATION_LASTS)


def new_code(account: Account, *, by: Person | None, until: datetime, recovery: AccountRecovery | None = None) -> str:
    """A single-use code for choosing a password; earlier codes end. Returned once, kept as digest."""
    code, now = secrets.token_urlsafe(16), clock.now()
    account.invitations.filter(used_at__isnull=True).update(expires_at=now)
    Invitation.objects.create(
        account=account, code_digest=digest_of(code), made_at=now, made_by=by, expires_at=until, recovery=recovery
    )
    return code


def mail_invitation(account: Account, link: str) -> str:
    """Sends the invitation where the practice has a mail server and the person an address. Says what happened; empty where
    nothing could be sent. The code is on the page in any case: mail that does not leave loses nothing."""
    person = account.person
    if not settings.EMAIL_HOST or not person.email:
        return ""
    words = (
        f"{person.given_name}, choose your password for the register of {person.home_site.name}:\n\n{link}\n\n"
        f"Your sign-in name is {account.sign_in_name}. The address is good for {INVITATION_LASTS.days} days and for one use.\n"
    )
    try:
        send_mail("Your invitation to the register", words, None, [person.email])
    except (OSError, SMTPException) as error:
        logger.warning("An invitation could not be mailed: %s", error)
        return f"The mail to {person.email} did not leave. Print the slip instead."
    return f"Mailed to {person.email}."


def digest_of(code: str) -> str:
    return hashlib.sha256(code.encode()).hexdigest()


def open_invitation(code: str) -> Invitation | None:
    """What the code opens, while it does. An invitation opens nothing once its account has a password: getting back into that
    is a recovery."""
    found = (
        Invitation.objects.select_related("account__person__home_site", "recovery__asking")
        .filter(code_digest=digest_of(code), used_at__isnull=True, expires_at__gt=clock.now(), account__is_active=True)
        .first()
    )
    if found is None or not AtWork().user_can_authenticate(found.account):
        return None
    return None if found.recovery is None and found.account.has_usable_password() else found


def end_sessions(account: Account) -> int:
    """Signs the account out everywhere (a lost tablet, somebody leaving); no device is known to it any more, and no PIN is
    left. Returns how many sessions ended."""
    ended = 0
    for session in Session.objects.iterator():
        if session.get_decoded().get("_auth_user_id") == str(account.pk):
            session.delete()
            ended += 1
    account.signed_in.all().delete()
    account.known_devices.all().delete()
    account.pins.all().delete()
    return ended


def prove(sign_in_name: str, password: str, *, site: Site, at: TryOrigin = NOWHERE) -> Account:
    """Who is signing, proved again by name and password (rows E-19 to E-21). Every try is kept; five misses in fifteen
    minutes shut signing for that name at that device or place. A name that nobody has is answered like a wrong password."""
    runs = guessing.to_sign(sign_in_name, at)
    if not guessing.charge(runs):
        logger.warning("Signing as %r is paused at %s: too many wrong passwords.", sign_in_name[:60], at.address)
        raise Refused(
            Refusal("Too many wrong passwords for signing.", "Wait fifteen minutes, or ask the owner.", "password")
        )
    account = Account.objects.called(sign_in_name).select_related("person__home_site").first()
    right = is_right(account, password)
    if account:
        SigningAttempt.objects.create(account=account, at=clock.now(), succeeded=right, site=site)
    if account is None or not right:
        logger.warning("A wrong password for signing as %r from %s.", sign_in_name[:60], at.address)
        raise Refused(
            Refusal("Name and password do not belong together. Nothing was signed.", "Type both again.", "password")
        )
    guessing.forget(runs)
    only_if_identified(account)
    return account


def only_if_identified(account: Account) -> None:
    """Nobody signs before it is written down how it was checked who they are (row E-17)."""
    if not account.identity_checked:
        raise Refused(
            Refusal(
                "Nobody has written down how it was checked who you are.", "Ask the coordinator to enter it; then sign."
            )
        )


def prove_oneself(account: Account, password: str, *, at: TryOrigin = NOWHERE) -> None:
    """Whoever changes how their own account opens proves the password again; counted like signing. Raises Refused."""
    runs = guessing.to_sign(account.sign_in_name, at)
    if not guessing.charge(runs):
        logger.warning("Proving %r again is paused at %s: too many wrong passwords.", account.sign_in_name, at.address)
        raise Refused(Refusal("Too many wrong passwords.", "Wait fifteen minutes, or ask the owner.", "password"))
    right = is_right(account, password)
    SigningAttempt.objects.create(account=account, at=clock.now(), succeeded=right, site=account.person.home_site)
    if not right:
        logger.warning("A wrong password for changing the account %r from %s.", account.sign_in_name, at.address)
        raise Refused(Refusal("That is not your password. Nothing was changed.", "Type it again.", "password"))
    guessing.forget(runs)


def is_right(account: Account | None, password: str) -> bool:
    """Takes as long for a name that nobody has, or nobody at work."""
    if account is None:
        make_password(password)
        return False
    return account.check_password(password) and AtWork().user_can_authenticate(account)
