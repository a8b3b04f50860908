"""What the owner of an account is told about it by mail, where there is a way."""

import logging
from smtplib import SMTPException

from django.conf import settings
from django.core.mail import send_mail

from clinic.models import Person

logger = logging.getLogger(__name__)


def tell_owner(person: Person, what: str) -> None:
    """By mail, where there is a way. At the next sign-in, or on their own page, it is told in any case."""
    if not settings.EMAIL_HOST or not person.email:
        return
    words = f"{person.given_name}, {what}\n\nIf you did not want this, tell the owner of {person.home_site.name} now.\n"
    try:
        send_mail("Your account in the register", words, None, [person.email])
    except (OSError, SMTPException) as error:
        logger.warning("A notice about an account could not be mailed: %s", error)
