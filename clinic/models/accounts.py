"""The accounts by which people sign in."""

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models.functions import Lower
from django.utils import timezone

from clinic.models.organisation import Site
from clinic.models.people import Person
from clinic.models.records import Fact

LONGEST_NAME = 60


class AccountManager(BaseUserManager["Account"]):
    def get_by_natural_key(self, username: str | None) -> "Account":
        return self.called(username or "").get()

    def called(self, name: str) -> "models.QuerySet[Account]":
        """Whose sign-in name it is, in whatever case. A name longer than the column is nobody's, and never asked for: the
        database refuses to look for one of 60,000 letters."""
        name = name.strip()
        fits = len(name) <= LONGEST_NAME and "\0" not in name
        return self.filter(sign_in_name__iexact=name) if fits else self.none()


class Account(AbstractBaseUser):
    """How one person signs in. The name is never given to anybody else (row E-16)."""

    person = models.OneToOneField(Person, models.PROTECT, related_name="account")
    sign_in_name = models.CharField(max_length=LONGEST_NAME, unique=True)
    is_active = models.BooleanField(default=True)
    created_at = models.DateTimeField(default=timezone.now, editable=False)  # rows that are put back keep theirs
    identity_checked = models.CharField(max_length=200, blank=True, help_text="By whom, where and how (row E-17).")
    policy_accepted_at = models.DateTimeField(null=True, blank=True)

    USERNAME_FIELD = "sign_in_name"
    objects = AccountManager()

    class Meta:
        constraints = [models.UniqueConstraint(Lower("sign_in_name"), name="account_sign_in_name_once")]

    def __str__(self) -> str:
        return self.sign_in_name


class AccountRecovery(Fact):
    """One step by which somebody gets back into an account that is theirs (row E-22): asked for, confirmed by a second
    person, used. `reason` says how the asking person knows that it is them who want it."""

    free_lines = ("proved",)

    class Step(models.TextChoices):
        ASKED = "asked", "asked for"
        CONFIRMED = "confirmed", "confirmed"
        USED = "used", "used"

    class Way(models.TextChoices):
        MAIL = "mail", "by mail"
        SLIP = "slip", "on a slip"
        MACHINE = "machine", "on the register’s own computer"

    person = models.ForeignKey(Person, models.PROTECT, related_name="account_recoveries")
    step = models.CharField(max_length=10, choices=Step)
    asking = models.ForeignKey(
        "self", models.PROTECT, null=True, related_name="steps", db_comment="The step it follows"
    )
    factor_lost = models.BooleanField(default=False, db_comment="The second factor is lost too, and ends with the use")
    way = models.CharField(max_length=10, choices=Way, blank=True, db_comment="How the code went to the person")
    proved = models.CharField(max_length=80, blank=True, db_comment="How whoever confirmed proved who they are")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["asking", "step"], name="account_recovery_step_once")]
        indexes = [models.Index(fields=["person", "recorded_at"], name="account_recovery_person")]


class Invitation(models.Model):
    """A short-lived, single-use way to choose a password: the first one, or another after a recovery. Only the digest of its
    code is kept."""

    account = models.ForeignKey(Account, models.CASCADE, related_name="invitations")
    code_digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)
    recovery = models.ForeignKey(
        AccountRecovery, models.PROTECT, null=True, related_name="codes", db_comment="The confirmation it rests on"
    )


class SigningAttempt(models.Model):
    """One try to prove who is signing. Failures in a row lock signing for a while and are shown to the owner (E-27)."""

    account = models.ForeignKey(Account, models.CASCADE, related_name="signing_attempts")
    at = models.DateTimeField()
    succeeded = models.BooleanField()
    site = models.ForeignKey(Site, models.PROTECT, null=True)

    class Meta:
        indexes = [models.Index(fields=["account", "at"])]


class TryCount(models.Model):
    """How many wrong tries in a row one run of them counts (`clinic.guessing`). The key says nothing of whose they are."""

    key = models.CharField(max_length=64, unique=True)
    failures = models.PositiveIntegerField(default=0)
    last_at = models.DateTimeField(db_index=True, db_comment="The last try that counted")


class KnownDevice(models.Model):
    """A browser on which an account was proved before. Only the digest of what its cookie holds is kept."""

    account = models.ForeignKey(Account, models.CASCADE, related_name="known_devices")
    digest = models.CharField(max_length=64, db_index=True)
    since = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["account", "digest"], name="known_device_once")]
