"""What was signed, by whose authority, and what started the chain of signing."""

from datetime import date
from typing import Self

from django.db import models
from django.db.models import Q

from clinic.models import Equipment, Fact, FactQuerySet, Person
from training.models.procedures import Procedure, Version
from training.rules.wording import codes_in_runs


class SignOff(Fact):
    """A signed statement that the person may work unsupervised. Name, time and meaning belong to it (row E-13)."""

    free_lines = ("signer_name", "meaning", "reidentified")

    person = models.ForeignKey(Person, models.PROTECT, related_name="sign_offs")
    version = models.ForeignKey(Version, models.PROTECT, related_name="sign_offs")
    signer = models.ForeignKey(Person, models.PROTECT, related_name="signed")
    signer_name = models.CharField(max_length=160)
    meaning = models.CharField(max_length=200)
    statement = models.TextField()
    evidence = models.JSONField(db_comment="Ids of the facts it rests on, with what each showed")
    elements = models.JSONField(
        default=dict, db_comment="The six elements of competence assessment (K-01): how each was covered"
    )
    lowered = models.JSONField(default=list, db_comment="Numbers asked lower than the policy's, and why, in words")
    valid_until = models.DateField(null=True)
    reidentified = models.CharField(max_length=120, db_comment="How the signer proved again who they are")
    reidentified_at = models.DateTimeField()
    equipment = models.ForeignKey(Equipment, models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        indexes = [models.Index(fields=["person", "happened_on"], name="sign_off_person")]
        constraints = [
            models.CheckConstraint(condition=~Q(signer=models.F("person")), name="sign_off_never_for_oneself"),
            models.CheckConstraint(condition=~Q(meaning="") & ~Q(signer_name=""), name="sign_off_says_who_and_what"),
        ]


class Withdrawal(Fact):
    """The opposite of a sign-off, with its reason. Nothing links it to an incident."""

    free_lines = ("signer_name",)

    person = models.ForeignKey(Person, models.PROTECT, related_name="withdrawals")
    procedure = models.ForeignKey(Procedure, models.PROTECT, related_name="withdrawals")
    signer_name = models.CharField(max_length=160)

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(reason=""), name="withdrawal_has_reason")]


class Signature(Fact):
    """Who put a record right: printed name, time and meaning of the signature, and how the signer proved again who they
    are (rows E-13 to E-15, E-19). It names the one fact that it signs, and its own seal binds it to that fact."""

    free_lines = ("signer_name", "meaning", "reidentified")

    signs = models.UUIDField(unique=True, db_comment="The fact that this signature belongs to")
    signer_name = models.CharField(max_length=160, db_comment="Printed name on that day")
    meaning = models.CharField(max_length=400)
    reidentified = models.CharField(max_length=120, db_comment="How the signer proved again who they are")
    reidentified_at = models.DateTimeField()

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(meaning=""), name="signature_has_a_meaning")]


class GrantQuerySet(FactQuerySet):
    def alive_on(self, day: date) -> Self:
        return self.filter(happened_on__lte=day).filter(Q(to_day__isnull=True) | Q(to_day__gte=day))


class Grant(Fact):
    """From `happened_on` to `to_day` (both good days) at its site, for procedures by code or for whole areas."""

    person = models.ForeignKey(Person, models.PROTECT, related_name="%(class)ss")
    procedures = models.JSONField(default=list, blank=True, db_comment="Procedure codes")
    areas = models.JSONField(default=list, blank=True, db_comment="Areas of procedures")
    to_day = models.DateField(null=True, blank=True)

    objects = GrantQuerySet.as_manager()

    class Meta:
        abstract = True

    @property
    def codes(self) -> str:
        """Its single procedures in a few words: P01 to P15, P17."""
        return codes_in_runs(self.procedures)

    def covers(self, procedure: Procedure) -> bool:
        return procedure.code in self.procedures or procedure.area in self.areas


class Authority(Grant):
    """May observe and sign for what it covers, at its site. Granted by `recorded_by`."""

    counts_because = models.TextField(
        blank=True, db_comment="Why what they watch counts as evidence although they may not work alone in it"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(to_day__isnull=True) | Q(to_day__gte=models.F("happened_on")),
                name="authority_ends_after_start",
            )
        ]


class FoundingGrant(Grant):
    """How the chain of signing starts: authority plus standing with basis "founding", for at most twelve months."""

    class RestsOn(models.TextChoices):
        VISIT = "visit", "A trainer’s visit"
        COURSE = "course", "A course"
        DECLARATION = "declaration", "The owner’s declaration"
        SIDE_BY_SIDE = "side by side", "Two people’s first performances together (at most 90 days)"

    rests_on = models.CharField(max_length=20, choices=RestsOn)
    detail = models.TextField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(to_day__isnull=False) & Q(to_day__gte=models.F("happened_on")), name="founding_grant_ends"
            )
        ]


class CarriedOver(Fact):
    """What somebody mastered before the register started, and where the paper is. Counts from the register start day."""

    person = models.ForeignKey(Person, models.PROTECT, related_name="carried_over")
    procedure = models.ForeignKey(Procedure, models.PROTECT, related_name="carried_over")
    original_day = models.DateField()
    by_whom = models.CharField(max_length=160)
    paper_place = models.CharField(max_length=200)
    valid_until = models.DateField()
