"""Changing the password of one's own account."""

from django.db import transaction

from clinic.changes import note
from clinic.models import Account
from clinic.notices import tell_owner


@transaction.atomic
def change_password(account: Account, password: str) -> None:
    """Set it, and leave a sealed fact that says so; every PIN ends with the old one. The caller had that proved, and ends the
    other sessions."""
    account.set_password(password)
    account.save(update_fields=["password"])
    account.pins.all().delete()
    person = account.person
    said = f"{person} changed the password of {account.sign_in_name}"
    note(account, site=person.home_site, by=person, said=said)
    tell_owner(person, "the password of your account was changed.")
