"""What was done to an account, for the page of its owner."""

from datetime import datetime

from clinic.actions.factors import in_words
from clinic.actions.recovery import what_was_done
from clinic.models import Account, AccountRecovery, Change, FactorChange

MOST = 30


def done_to(account: Account, since: datetime) -> list[tuple[datetime, str]]:
    """Recoveries, second factors, passwords and what the roster did to it, newest first, in words."""
    person = account.person_id
    factors = FactorChange.objects.filter(person=person, recorded_at__gte=since)
    recoveries = AccountRecovery.objects.filter(person=person, recorded_at__gte=since).select_related("recorded_by")
    changes = Change.objects.filter(about="clinic.account", about_id=str(account.pk), recorded_at__gte=since)
    found = [(row.recorded_at, in_words(row)) for row in factors]
    found += [(row.recorded_at, what_was_done(row)) for row in recoveries]
    found += [(row.recorded_at, row.said) for row in changes]
    return sorted(found, reverse=True)[:MOST]
