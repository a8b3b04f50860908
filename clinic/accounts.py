"""Signing in, invitations, and proving again who is signing."""

import hashlib
import logging
import secrets
from datetime import datetime, timedelta
from smtplib import SMTPException
from typing import Any

from axes.helpers import get_client_username
from axes.models import AccessAttempt
from django.conf import settings
from django.contrib.auth.backends import ModelBackend
from django.contrib.sessions.models import Session
from django.core.exceptions import ValidationError
from django.core.mail import send_mail
from django.db.models import Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from clinic import clock
from clinic.models import Account, AccountRecovery, Invitation, Person, SigningAttempt, Site
from clinic.record import Refusal, Refused

logger = logging.getLogger(__name__)
INVITATION_LASTS = timedelta(days=7)
TRIES, WITHIN = 5, timedelta(minutes=15)
MOST_TRIES = 100


def visitors_address(request: HttpRequest) -> str:
    """Where the visitor is: behind a proxy what the proxy saw last, which nobody but the proxy can write."""
    seen = request.META.get("HTTP_X_FORWARDED_FOR", "") if settings.BEHIND_PROXY else ""
    return seen.rpartition(",")[2].strip() or str(request.META.get("REMOTE_ADDR", ""))


def what_pauses(attempt: Any, credentials: dict[str, Any] | None = None) -> list[Any]:
    """What a run of wrong passwords is counted by: name and place together, until a hundred tries went wrong for the name
    from anywhere, or from the place for any name (NIST SP 800-63B-4 3.2.2; row A-05)."""
    name, place = named_in(attempt, credentials)
    lately = AccessAttempt.objects.filter(attempt_time__gte=clock.now() - timedelta(hours=settings.AXES_COOLOFF_TIME))
    runs = {"username": lately.filter(username=name), "ip_address": lately.filter(ip_address=place)}
    tries = {key: rows.aggregate(n=Sum("failures_since_start"))["n"] or 0 for key, rows in runs.items()}
    return [key for key, n in tries.items() if n >= MOST_TRIES] or [["username", "ip_address"]]


def named_in(attempt: Any, credentials: dict[str, Any] | None) -> tuple[str, str]:
    """The name and the place of a request, or of a row that was kept of one."""
    if not isinstance(attempt, HttpRequest):
        return attempt.username, attempt.ip_address
    return get_client_username(attempt, credentials) or "", visitors_address(attempt)


class AtWork(ModelBackend):
    """Lets in by name and password whoever still works here (or was given a pass). Leaving shuts the door by itself."""

    def user_can_authenticate(self, user: Any) -> bool:
        person = user.person
        return user.is_active and person.is_at_work_on(clock.today(person.home_site.time_zone))

    def get_user(self, user_id: int) -> Account | None:
        account = Account.objects.select_related("person__home_site").filter(pk=user_id).first()
        return account if account and self.user_can_authenticate(account) else None


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
    """Signs the account out everywhere (a lost tablet, somebody leaving). Returns how many sessions ended."""
    ended = 0
    for session in Session.objects.iterator():
        if session.get_decoded().get("_auth_user_id") == str(account.pk):
            session.delete()
            ended += 1
    return ended


def prove(sign_in_name: str, password: str, *, site: Site) -> Account:
    """Who is signing, proved again by name and password (rows E-19 to E-21). Every try is kept; five misses in fifteen
    minutes shut signing for that account for as long."""
    account = (
        Account.objects.select_related("person__home_site").filter(sign_in_name__iexact=sign_in_name.strip()).first()
    )
    if account is None or not AtWork().user_can_authenticate(account):
        raise Refused(
            Refusal("Name and password do not belong together.", "Type your own sign-in name.", "sign_in_name")
        )
    if not account.identity_checked:
        raise Refused(
            Refusal(
                "Nobody has written down how it was checked who you are.", "Ask the coordinator to enter it; then sign."
            )
        )
    since = clock.now() - WITHIN
    missed = account.signing_attempts.filter(at__gt=since, succeeded=False).count()
    if missed >= TRIES:
        raise Refused(
            Refusal("Too many wrong passwords for signing.", "Wait fifteen minutes, or ask the owner.", "password")
        )
    right = account.check_password(password)
    SigningAttempt.objects.create(account=account, at=clock.now(), succeeded=right, site=site)
    if not right:
        raise Refused(Refusal("The password is not right. Nothing was signed.", "Type it again.", "password"))
    return account


def locked_out(request: HttpRequest, credentials: dict[str, Any], *args: Any, **kwargs: Any) -> HttpResponse:
    """Shown after too many wrong passwords from one place for one name; other tablets and people go on."""
    return render(request, "clinic/locked_out.html", status=429)
