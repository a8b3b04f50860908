"""Six digits that stand in for a password on one device, for a day."""

import uuid

from django.db import models

from clinic.models.accounts import Account


class Pin(models.Model):
    """What one person chose for one device. It counts there only after their password was proved there the same day."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    account = models.ForeignKey(Account, models.CASCADE, related_name="pins")
    device = models.CharField(max_length=64, db_index=True, db_comment="Digest of what the cookie of the device holds")
    proof = models.CharField(max_length=200, db_comment="Hash of the digits together with what the cookie holds")
    browser = models.CharField(max_length=300, blank=True, db_comment="What the browser said of itself")
    chosen_at = models.DateTimeField()
    opened_at = models.DateTimeField(
        null=True, db_comment="The sign-in by password on this device that it stands on; empty: it counts nowhere"
    )
    second = models.CharField(
        max_length=80, blank=True, db_comment="What was proved after the password at that sign-in"
    )
    wrong_today = models.PositiveSmallIntegerField(default=0, db_comment="Wrong tries since that sign-in")
    wrong_in_a_row = models.PositiveSmallIntegerField(default=0, db_comment="Wrong tries since it was last right")

    class Meta:
        ordering = ["chosen_at"]
        constraints = [models.UniqueConstraint(fields=["account", "device"], name="pin_once_a_device")]
