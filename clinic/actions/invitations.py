"""Choosing a password with a code: the first one, or another after a recovery."""

from django.db import transaction

from clinic import clock
from clinic.accounts import end_sessions
from clinic.actions.recovery import use_recovery
from clinic.changes import note
from clinic.models import Account, Invitation
from clinic.record import Refusal, Refused


@transaction.atomic
def accept(invitation: Invitation, password: str) -> Account:
    """Set the password and use the code up. Two people with one slip: the second finds it used. What was signed in before is
    signed out, and a sealed fact says that a password was chosen."""
    now = clock.now()
    if Invitation.objects.filter(pk=invitation.pk, used_at__isnull=True).update(used_at=now) != 1:
        raise Refused(Refusal("This invitation was used already.", "Ask the coordinator for a new one."))
    account = invitation.account
    account.set_password(password)
    account.policy_accepted_at = now
    account.save(update_fields=["password", "policy_accepted_at"])
    end_sessions(account)
    if invitation.recovery:
        use_recovery(invitation.recovery)
    else:
        person, said = account.person, f"{account.person} chose the first password of {account.sign_in_name}"
        note(account, site=person.home_site, by=person, said=said)
    return account
