"""Documents as they were issued, and the long work of making a binder."""

import uuid
from datetime import date
from typing import Self

from django.db import models

from clinic.models import Fact, Person, Site
from training.models.procedures import Procedure
from training.models.signoffs import SignOff


class Issue(Fact):
    """A certificate or binder with its frozen content. A reprint reads only this and gives the same bytes."""

    free_lines = ("number", "code", "frozen_digest", "file_digest")
    by_digest = ("frozen",)  # a proof about the paper then gives away no more than the paper

    class Kind(models.TextChoices):
        CERTIFICATE = "certificate", "Certificate"
        BINDER = "binder", "Binder"

    document = models.CharField(max_length=20, choices=Kind)
    number = models.CharField(max_length=40, unique=True)
    code = models.CharField(max_length=40, unique=True, db_comment="Printed on it; leads to its check page")
    frozen = models.JSONField()
    frozen_digest = models.CharField(max_length=64)
    file_digest = models.CharField(max_length=64, db_comment="SHA-256 of the PDF that was issued")
    person = models.ForeignKey(Person, models.PROTECT, null=True, related_name="issued")
    procedure = models.ForeignKey(Procedure, models.PROTECT, null=True, related_name="issued")
    sign_off = models.ForeignKey(SignOff, models.PROTECT, null=True, related_name="issued")
    replaces = models.OneToOneField("self", models.PROTECT, null=True, related_name="replaced_by")


class BinderJob(models.Model):
    """A binder being made, or the pack of its evidence. Claimed by a lease, so that a worker that dies loses nothing but time."""

    class State(models.TextChoices):
        QUEUED = "queued", "Waiting"
        RUNNING = "running", "Being made"
        DONE = "done", "Done"
        FAILED = "failed", "Failed"
        CALLED_OFF = "called off", "Called off"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    site = models.ForeignKey(Site, models.PROTECT, related_name="binder_jobs")
    first = models.DateField()
    last = models.DateField()
    as_of = models.DateField()
    in_full = models.BooleanField(default=True)
    paper = models.CharField(max_length=10)
    requested_by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    requested_at = models.DateTimeField()
    state = models.CharField(max_length=10, choices=State, default=State.QUEUED)
    done = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(default=0)
    says = models.CharField(max_length=200, blank=True)
    lease_until = models.DateTimeField(null=True)
    worker = models.CharField(max_length=80, blank=True)
    attempts = models.PositiveIntegerField(default=0)
    issue = models.ForeignKey(Issue, models.PROTECT, null=True, related_name="jobs")
    pack_of = models.ForeignKey(
        Issue, models.PROTECT, null=True, related_name="pack_jobs", db_comment="The binder whose evidence is packed"
    )

    class Meta:
        ordering = ["-requested_at", "pk"]
        indexes = [models.Index(fields=["state", "lease_until"], name="binder_job_claim")]

    @property
    def runs(self) -> bool:
        return self.state in (self.State.QUEUED, self.State.RUNNING)

    @property
    def how_it_is(self) -> str:
        """The binder is being made."""
        ended = {
            self.State.DONE: "is made",
            self.State.FAILED: "could not be made",
            self.State.CALLED_OFF: "was called off",
        }
        return f"The {'evidence' if self.pack_of_id else 'binder'} {ended.get(self.State(self.state), 'is being made')}"

    def __str__(self) -> str:
        return f"Evidence of {self.pack_of.number}" if self.pack_of else f"Binder for {self.site}"


class PackPart(models.Model):
    """A piece of a pack that was made: in the database, so that any host hands out what any worker made. Taken away after a
    week, or when the next one is made."""

    job = models.ForeignKey(BinderJob, models.CASCADE, related_name="parts")
    number = models.PositiveIntegerField()
    data = models.BinaryField()

    class Meta:
        ordering = ["job", "number"]
        constraints = [models.UniqueConstraint(fields=["job", "number"], name="pack_part_once")]


class InspectorPassQuerySet(models.QuerySet):  # type: ignore[type-arg]
    def good_on(self, day: date) -> Self:
        """Those whose day is not over and that nobody took back."""
        return self.filter(until__gte=day, taken_back_at__isnull=True)


class InspectorPass(models.Model):
    """An inspector may read one binder and the facts it rests on, through a day, unless it is taken back before."""

    person = models.ForeignKey(Person, models.PROTECT, related_name="passes")
    issue = models.ForeignKey(Issue, models.PROTECT, related_name="passes")
    until = models.DateField()
    given_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    taken_back_at = models.DateTimeField(null=True, blank=True)

    objects = InspectorPassQuerySet.as_manager()


class PassUsed(Fact):
    """One time a pass was used: the binder, its paper, or one of the facts that it rests on was opened."""

    class What(models.TextChoices):
        BINDER = "binder", "The binder"
        PAPER = "paper", "The binder on paper"
        FACT = "fact", "A fact it rests on"

    inspector_pass = models.ForeignKey(InspectorPass, models.PROTECT, related_name="uses")
    what = models.CharField(max_length=10, choices=What)
    opened = models.UUIDField(db_comment="The binder, or the fact, that was opened")
