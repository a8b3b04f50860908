"""Choosing and ending the PIN of one's own account on a device. Each leaves a sealed fact, as a password does."""

from collections.abc import Iterable
from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from clinic import clock
from clinic.changes import note
from clinic.guessing import digest_of
from clinic.models import Account, Pin, RoleHeld
from clinic.notices import tell_owner
from clinic.pins import kept, on_device
from clinic.record import Refusal, refuse_if
from clinic.rules.devices import device_in_words
from clinic.rules.pins import is_pin, why_too_easy


@transaction.atomic
def choose_pin(
    account: Account, digits: str, *, device: str, browser: str, opened_at: datetime, second: str, id: UUID
) -> Pin:
    """It takes the place of an earlier one there. The caller had the password proved; `opened_at` and `second` are those of
    the session. Sent twice, it is chosen once."""
    earlier = on_device(device).filter(account=account).first()
    if earlier and earlier.pk == id:
        return earlier
    easy = why_too_easy(digits, *known_of(account)) if is_pin(digits) else "It is not six digits."
    refuse_if(
        Refusal(easy, "Choose six others.", "pin") if easy else None,
        Refusal("This browser keeps no cookie of its own.", "Let it keep cookies, and sign in again.")
        if not device
        else None,
    )
    if earlier:
        earlier.delete()
    row = Pin.objects.create(
        id=id, account=account, device=digest_of(device), proof=kept(digits, device), browser=browser[:300],
        chosen_at=clock.now(), opened_at=opened_at, second=second[:80],
    )  # fmt: skip
    leave_word(account, f"{account.person} chose a PIN for {device_in_words(row.browser)}")
    return row


def known_of(account: Account) -> tuple[list[date], list[str]]:
    """Days and numbers of the person that colleagues may know."""
    person = account.person
    days = [*RoleHeld.objects.filter(person=person).values_list("from_day", flat=True), account.created_at]
    return [*days, *filter(None, [person.last_day])], [person.staff_number, account.sign_in_name]


@transaction.atomic
def end_pins(account: Account, rows: Iterable[Pin], why: str) -> int:
    """They open and sign nothing any more. Returns how many there were; an ended one ends no second time."""
    ended = 0
    for row in rows:
        if Pin.objects.filter(pk=row.pk, account=account).delete()[0]:
            ended += 1
            leave_word(account, f"The PIN of {account.person} for {device_in_words(row.browser)} ended: {why}")
    return ended


def leave_word(account: Account, said: str) -> None:
    person = account.person
    note(account, site=person.home_site, by=person, said=said)
    tell_owner(person, f"this was done to your account: {said}.")
