"""Adding and removing second factors. Each leaves a sealed fact, and the account's owner is told by mail.

The caller has the owner's password proved anew: being signed in is not enough (ASVS 5.0 7.5.1).
"""

import hashlib
from uuid import UUID

from django.db import transaction

from clinic import clock
from clinic.factors import (
    codes_left,
    living,
    lock_up,
    new_recovery_codes,
    step_of,
    take_recovery_code,
    typed,
    without_until,
)
from clinic.models import Account, FactorChange, FactorKind, SecondFactor
from clinic.notices import tell_owner
from clinic.passkeys import NewPasskey
from clinic.reads.own_account import in_words
from clinic.record import Refusal, record, refuse_if

MOST = 10
What = FactorChange.What


@transaction.atomic
def add_app(account: Account, label: str, secret: str, code: str, *, id: UUID) -> list[str]:
    """An app that shows a right code of this secret. Returns recovery codes where these are the first; sent twice, it is one."""
    if SecondFactor.objects.filter(pk=id, account=account).exists():
        return []
    step = step_of(secret, typed(code))
    refuse_if(
        *refusals(account, label),
        Refusal("The app shows another code.", "Scan the square again, and check the clock of the phone.", "code")
        if step is None
        else None,
    )
    row = SecondFactor(
        id=id, account=account, kind=FactorKind.APP, label=label, secret=lock_up(secret), counter=step or 0
    )
    return added(row, fingerprint(secret))


@transaction.atomic
def add_passkey(account: Account, label: str, made: NewPasskey | None, *, id: UUID) -> list[str]:
    """A passkey that a browser made, verified (clinic.passkeys). Returns recovery codes where these are the first."""
    if SecondFactor.objects.filter(pk=id, account=account).exists():
        return []
    refuse_if(
        *refusals(account, label),
        Refusal("The browser’s answer proves no passkey.", "Try again; nothing was added.") if made is None else None,
        Refusal("This passkey is here already.", "Use another device, or another key.")
        if made and SecondFactor.objects.filter(credential=made.credential).exists()
        else None,
    )
    assert made is not None
    row = SecondFactor(
        id=id, account=account, kind=FactorKind.PASSKEY, label=label, secret=made.public_key, credential=made.credential,
        host=made.host, counter=made.counter,
    )  # fmt: skip
    return added(row, fingerprint(made.public_key))


def refusals(account: Account, label: str) -> list[Refusal | None]:
    """Why no further one of this name is added."""
    return [
        Refusal("You have one of that name.", "Give it another name.", "label")
        if living(account).filter(label__iexact=label).exists()
        else None,
        Refusal(f"There are {MOST} already.", "Remove one that you do not use any more.")
        if living(account).count() >= MOST
        else None,
    ]


def added(row: SecondFactor, digest: str) -> list[str]:
    account, first = row.account, not living(row.account).exists()
    row.added_at = clock.now()
    row.save(force_insert=True)
    change(account, What.ADDED, id=row.pk, kind=row.kind, label=row.label, fingerprint=digest)
    return new_codes(account) if first else []


@transaction.atomic
def remove(row: SecondFactor) -> None:
    """Ask for it no more. The last one stays where one is asked of its owner; otherwise the recovery codes end with it."""
    account = row.account
    others = living(account).exclude(pk=row.pk)
    refuse_if(
        Refusal(
            "Your post needs a second factor, and this is the last one.", "Add the new one first; then remove this."
        )
        if not others.exists() and is_demanded(account)
        else None
    )
    end(row, "")
    if not others.exists():
        account.recovery_codes.all().delete()


def is_demanded(account: Account) -> bool:
    """Whether the posts of its owner ask for one."""
    return without_until(account, as_if_without=True) is not None


@transaction.atomic
def lose_all(account: Account) -> None:
    """Everything asked after the password is lost: a recovery says so. Called in the transaction that uses it."""
    for row in living(account):
        end(row, "Lost: a recovery says so.")
    account.recovery_codes.all().delete()


def end(row: SecondFactor, reason: str) -> None:
    """Sent twice, it ends once."""
    if SecondFactor.objects.filter(pk=row.pk, ended_at__isnull=True).update(ended_at=clock.now()):
        change(row.account, What.REMOVED, kind=row.kind, label=row.label, factor=row.pk, reason=reason)


@transaction.atomic
def new_codes(account: Account) -> list[str]:
    """Ten new recovery codes; the old ones end. Shown once by the caller, kept as digests."""
    refuse_if(
        Refusal("Recovery codes stand in for a second factor, and you have none.", "Add one first.")
        if not living(account).exists()
        else None
    )
    codes = new_recovery_codes(account)
    change(account, What.CODES_MADE)
    return codes


@transaction.atomic
def use_code(account: Account, code: str) -> bool:
    """A recovery code in the place of a second factor: used up, recorded, and told."""
    if not take_recovery_code(account, code):
        return False
    change(account, What.CODE_USED)
    return True


def change(account: Account, what: str, id: UUID | None = None, **more: object) -> FactorChange:
    person, site = account.person, account.person.home_site
    row = FactorChange(site=site, happened_on=clock.today(site.time_zone), person=person, what=what, **more)
    row.id = id or row.id
    done = record(row, by=person)
    left = f" {codes_left(account)} recovery codes are left." if what == What.CODE_USED else ""
    tell_owner(person, f"this was done to your account: {in_words(done)}.{left}")
    return done


def fingerprint(secret: str) -> str:
    """What the sealed fact keeps of a secret: enough to see that it was exchanged, and nothing to make codes of."""
    return hashlib.sha256(secret.encode()).hexdigest()
