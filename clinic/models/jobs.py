"""Jobs at a milling unit: what was started from which block, how it ended; and which tool the site wants in which position."""

from django.db import models
from django.db.models import Q

from clinic.models.blocks import BlockLot
from clinic.models.equipment import Equipment
from clinic.models.people import Person
from clinic.models.records import Fact
from clinic.models.tools import choices
from clinic.rules.jobs import LONGEST_CASE, Cause, JobOutcome
from clinic.rules.tools import Material, MillingWay, Tool


class JobStarted(Fact):
    """A job started from a block. `case` is the practice’s own number: a patient is never named. `factor`: what the unit was
    given, where the block shrinks. `tools`: the mountings that sat there, as the register knew them at the start."""

    equipment = models.ForeignKey(Equipment, models.PROTECT, related_name="jobs")
    lot = models.ForeignKey(BlockLot, models.PROTECT, related_name="jobs")
    case = models.CharField(max_length=LONGEST_CASE)
    wet = models.BooleanField()
    factor = models.DecimalField(max_digits=6, decimal_places=4, null=True, blank=True)
    code = models.CharField(
        max_length=40, blank=True, default="", db_comment="As printed on the block, where it has one"
    )
    tools = models.JSONField(default=list, db_comment="Keys of the mountings that sat in the unit")
    done_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    stood_by = models.ForeignKey(Person, models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        indexes = [models.Index(fields=["equipment", "happened_on"], name="job_lookup")]
        constraints = [
            models.CheckConstraint(
                condition=Q(stood_by__isnull=True) | ~Q(stood_by=models.F("done_by")), name="job_nobody_stands_by_oneself"
            ),
            models.CheckConstraint(condition=Q(factor__isnull=True) | Q(factor__gte=1), name="job_factor"),
        ]  # fmt: skip


class JobEnded(Fact):
    """How a job came out. A second one says that what was good has to be made again; the parts count once, with the first.

    `minutes`: as the unit counts them, where it does.
    """

    job = models.ForeignKey(JobStarted, models.PROTECT, related_name="ends")
    outcome = models.CharField(max_length=10, choices=choices(JobOutcome))
    cause = models.CharField(max_length=40, choices=choices(Cause), blank=True)
    parts = models.PositiveSmallIntegerField(default=1)
    minutes = models.PositiveIntegerField(null=True, blank=True)
    note = models.TextField(blank=True)
    done_by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(outcome="good") ^ ~Q(cause=""), name="job_end_has_its_cause"),
            models.CheckConstraint(condition=Q(parts__gt=0), name="job_end_counts_something"),
        ]


class SetLine(Fact):
    """Which tool the site wants in a position of a unit for a material, from a day; the newest line of a position counts.
    Without a kind nothing is asked there any more."""

    equipment = models.ForeignKey(Equipment, models.PROTECT, related_name="set_lines")
    material = models.CharField(max_length=40, choices=choices(Material))
    way = models.CharField(max_length=3, choices=choices(MillingWay))
    position = models.CharField(max_length=20)
    tool = models.CharField(max_length=30, choices=choices(Tool), blank=True)
    size = models.CharField(max_length=40, blank=True)
