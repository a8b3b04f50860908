"""What was done to an account, for the page of its owner."""

from datetime import datetime

from clinic.models import Account, AccountRecovery, Change, FactorChange, FactorKind

MOST = 30
What, Step, Way = FactorChange.What, AccountRecovery.Step, AccountRecovery.Way


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


def in_words(row: FactorChange) -> str:
    if row.kind:
        return f"{FactorKind(row.kind).label} “{row.label}” {What(row.what).label}"
    return f"a {What.CODE_USED.label}" if row.what == What.CODE_USED else f"new {What.CODES_MADE.label}"


def what_was_done(row: AccountRecovery) -> str:
    """To whoever owns the account."""
    who = row.recorded_by or "somebody at the register’s own computer"
    return {
        Step.ASKED: f"{who} asked to open your account anew",
        Step.CONFIRMED: f"{who} confirmed it, and the code went out {Way(row.way or Way.MACHINE).label}",
        Step.USED: "a new password was chosen with the code",
    }[Step(row.step)]
