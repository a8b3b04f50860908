"""Something to master, its dated texts, and the draft of the next one."""

from datetime import date
from functools import cached_property
from typing import Self

from django.db import models
from django.db.models import Q

from clinic.models import EquipmentKind, Fact, FactQuerySet, Organisation, Person
from clinic.rules.roles import ProcedureRole
from training.rules.facts import Policy
from training.rules.texts import Content, content_from_json, policy_from_json


class ProcedureQuerySet(models.QuerySet):  # type: ignore[type-arg]
    def of(self, organisation: Organisation) -> Self:
        return self.filter(organisation=organisation).order_by("code")

    def titles(self, organisation: Organisation) -> dict[str, str]:
        """As sentences name them, by code. One query."""
        return dict(self.of(organisation).values_list("code", "title"))


class Procedure(models.Model):
    """A procedure, or a taught topic. Its versions carry the text; this row carries only what never changes, and
    what the library says that it stands for."""

    class Kind(models.TextChoices):
        PRACTICE = "practice", "Procedure"
        TOPIC = "topic", "Taught topic"

    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="procedures")
    code = models.CharField(max_length=10)
    title = models.CharField(max_length=120)
    area = models.CharField(max_length=40)
    kind = models.CharField(max_length=10, choices=Kind, default=Kind.PRACTICE)
    equipment_kind = models.CharField(max_length=30, choices=EquipmentKind)
    stands_for = models.CharField(
        max_length=30,
        blank=True,
        choices=[(role.value, role.value) for role in ProcedureRole],
        help_text="What it is found by.",
    )
    returns = models.JSONField(default=list, blank=True, help_text="Kinds of unit that whoever may do it returns.")

    objects = ProcedureQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        constraints = [models.UniqueConstraint(fields=["organisation", "code"], name="procedure_code_once")]

    def __str__(self) -> str:
        return f"{self.title} ({self.code})"

    @property
    def is_topic(self) -> bool:
        return self.kind == self.Kind.TOPIC


class Draft(models.Model):
    """The text of the next version while it is written. It may change until it is approved; then it is gone."""

    class State(models.TextChoices):
        WRITING = "writing", "Being written"
        SUBMITTED = "submitted", "Waiting for approval"

    procedure = models.OneToOneField(Procedure, models.CASCADE, related_name="draft")
    state = models.CharField(max_length=10, choices=State, default=State.WRITING)
    content = models.JSONField()
    policy = models.JSONField()
    change_note = models.TextField(blank=True)
    author = models.ForeignKey(Person, models.PROTECT, related_name="+")
    updated_at = models.DateTimeField()
    last_sent = models.JSONField(default=dict, blank=True, db_comment="Digest of the form saved last, and where it led")

    def __str__(self) -> str:
        return f"draft of {self.procedure}"


class VersionQuerySet(FactQuerySet):
    def in_force(self, on: date) -> Self:
        """The version of each procedure in force on the day: the last whose day has come."""
        later = Version.objects.filter(
            procedure=models.OuterRef("procedure"), in_force_from__lte=on, number__gt=models.OuterRef("number")
        )
        return self.filter(Q(in_force_from__lte=on) & ~models.Exists(later))


class Version(Fact):
    """An approved text. It never changes; a new version follows it. `recorded_by` approved it, at `recorded_at`."""

    procedure = models.ForeignKey(Procedure, models.PROTECT, related_name="versions")
    number = models.PositiveIntegerField()
    in_force_from = models.DateField()
    content = models.JSONField()
    policy = models.JSONField()
    critical_when = models.JSONField(default=list, db_comment="Keys of the steps that are critical and have a when")
    change_note = models.TextField(blank=True)
    authored_by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")

    objects = VersionQuerySet.as_manager()

    class Meta:
        ordering = ["procedure", "number"]
        constraints = [models.UniqueConstraint(fields=["procedure", "number"], name="version_number_once")]

    def __str__(self) -> str:
        return f"{self.procedure}, version {self.number}"

    @cached_property
    def text(self) -> Content:
        return content_from_json(self.content)

    @cached_property
    def asks(self) -> Policy:
        return policy_from_json(self.policy)


class InstructionsCheck(Fact):
    """A named person checked the version against the maker's instructions of the unit. Before it, nothing is signed."""

    version = models.ForeignKey(Version, models.PROTECT, related_name="instructions_checks")
    title = models.CharField(max_length=200)
    edition = models.CharField(max_length=80)
    checked_by = models.ForeignKey(Person, models.PROTECT, related_name="+")


class Retirement(Fact):
    """From `happened_on` the procedure is no longer taught and no longer counts as a prerequisite."""

    procedure = models.ForeignKey(Procedure, models.PROTECT, related_name="retirements")
