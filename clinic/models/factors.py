"""Second factors of accounts: an app that shows codes, a passkey, recovery codes; and the sessions they open."""

import uuid

from django.db import models
from django.db.models import Q

from clinic.models.accounts import Account
from clinic.models.people import Person
from clinic.models.records import Fact

LONGEST_LABEL = 40


class FactorKind(models.TextChoices):
    APP = "app", "app that shows codes"
    PASSKEY = "passkey", "passkey"


class FactorChange(Fact):
    """Something was done to the second factors of an account, by its owner or with the use of a recovery."""

    class What(models.TextChoices):
        ADDED = "added", "added"
        REMOVED = "removed", "removed"
        CODES_MADE = "codes made", "recovery codes made"
        CODE_USED = "code used", "recovery code used"

    person = models.ForeignKey(Person, models.PROTECT, related_name="factor_changes")
    what = models.CharField(max_length=12, choices=What)
    kind = models.CharField(max_length=10, choices=FactorKind, blank=True)
    label = models.CharField(max_length=LONGEST_LABEL, blank=True, db_comment="What its owner calls it")
    factor = models.UUIDField(null=True, db_comment="Of one removed: the fact that added it")
    fingerprint = models.CharField(
        max_length=64, blank=True, db_comment="Digest of the secret or public key, when added"
    )

    class Meta:
        indexes = [models.Index(fields=["person", "recorded_at"], name="factor_change_person")]


class SecondFactor(models.Model):
    """What is asked after the password. Its key is that of the fact that added it."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    account = models.ForeignKey(Account, models.CASCADE, related_name="second_factors")
    kind = models.CharField(max_length=10, choices=FactorKind)
    label = models.CharField(max_length=LONGEST_LABEL)
    secret = models.TextField(db_comment="App: its secret, encrypted. Passkey: its public key, base64url")
    credential = models.TextField(blank=True, db_comment="Passkey: its id, base64url")
    host = models.CharField(max_length=253, blank=True, db_comment="Passkey: the name of the register it was made for")
    counter = models.BigIntegerField(default=0, db_comment="App: step of the last code taken. Passkey: its own count")
    added_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["added_at"]
        constraints = [
            models.UniqueConstraint(fields=["credential"], condition=~Q(credential=""), name="passkey_belongs_to_one")
        ]

    def __str__(self) -> str:
        return f"{FactorKind(self.kind).label} “{self.label}”"


class RecoveryCode(models.Model):
    """A single-use stand-in for a lost second factor. Only its digest is kept."""

    account = models.ForeignKey(Account, models.CASCADE, related_name="recovery_codes")
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)


class SignedIn(models.Model):
    """Beside a session: whose it is and where it began, so that its person can see and end it."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    account = models.ForeignKey(Account, models.CASCADE, related_name="signed_in")
    session_key = models.CharField(max_length=40, unique=True)
    began_at = models.DateTimeField()
    address = models.CharField(max_length=64, blank=True)
    browser = models.CharField(max_length=300, blank=True, db_comment="What the browser said of itself")
    device = models.CharField(max_length=64, blank=True, db_comment="Digest of what the cookie of the device holds")
