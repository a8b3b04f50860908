"""What equipment needs and how often, each time it was done, and what it was used for."""

from datetime import date, datetime
from typing import Any, Self

from django.db import models
from django.db.models import Q

from clinic.models.equipment import Equipment, EquipmentKind
from clinic.models.people import Person
from clinic.models.records import Fact, FactQuerySet, Stands
from clinic.rules.roles import TaskRole


class UpkeepTaskQuerySet(models.QuerySet):  # type: ignore[type-arg]
    def code_of(self, role: TaskRole) -> str:
        """The code of the task that stands for the role, the first where several do; empty where none does."""
        return self.filter(stands_for=role).values_list("code", flat=True).first() or ""


class UpkeepTask(models.Model):
    """A task for one kind of equipment: every so many days, or units of use, whichever comes first."""

    code = models.CharField(max_length=10, unique=True)
    title = models.CharField(max_length=120)
    equipment_kind = models.CharField(max_length=30, choices=EquipmentKind)
    every_days = models.PositiveIntegerField(null=True, blank=True)
    every_units = models.PositiveIntegerField(null=True, blank=True)
    warn_days = models.PositiveIntegerField(default=0)
    plan_units = models.PositiveIntegerField(null=True, blank=True, help_text="Due from this many units.")
    unit_word = models.CharField(max_length=20, default="parts")
    covered_by = models.CharField(max_length=10, blank=True, help_text="Code of the procedure that covers it.")
    stands_for = models.CharField(
        max_length=20,
        blank=True,
        choices=[(role.value, role.value) for role in TaskRole],
        help_text="What it is found by.",
    )
    readings = models.JSONField(default=list, blank=True)
    source = models.TextField(blank=True)
    closer_days = models.PositiveIntegerField(
        null=True, blank=True, help_text="Every so many days instead while new, failed or changed, until two passes."
    )
    only_a_pass = models.BooleanField(
        default=False, help_text="Only a pass moves the due day: no failed check, no closed practice, no stop (T-10)."
    )

    objects = UpkeepTaskQuerySet.as_manager()

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return f"{self.code} {self.title}"


class TaskSetting(Fact):
    """A site's own interval for a task from a day, over the default, with its source (the maker's interval wins)."""

    task = models.ForeignKey(UpkeepTask, models.PROTECT, related_name="settings")
    every_days = models.PositiveIntegerField(null=True, blank=True)
    every_units = models.PositiveIntegerField(null=True, blank=True)
    warn_days = models.PositiveIntegerField(default=0)
    plan_units = models.PositiveIntegerField(null=True, blank=True)
    source = models.CharField(max_length=200)


class UpkeepEntryQuerySet(FactQuerySet):
    def with_results(self, known_by: datetime | None = None) -> Self:
        """Each with what was read of it later, for one more query."""
        return self.prefetch_related(results_read(known_by))


def results_read(known_by: datetime | None = None) -> "models.Prefetch[Any]":
    """What was read of entries later, to be read beside them."""
    rows = ResultRead.objects.live(known_by).in_order().select_related("done_by")
    return models.Prefetch("results", rows, to_attr="results_read")


class UpkeepEntry(Fact):
    """One time it was done. What was physically done is always recorded; who stood by is named where it matters.

    `happened_on` is the day of the work or of the sample. What takes days to grow is read later (`ResultRead`).
    """

    task = models.ForeignKey(UpkeepTask, models.PROTECT, related_name="entries")
    equipment = models.ForeignKey(Equipment, models.PROTECT, related_name="entries")
    done_by = models.ForeignKey(Person, models.PROTECT, related_name="upkeep_done")
    stood_by = models.ForeignKey(Person, models.PROTECT, null=True, blank=True, related_name="upkeep_stood_by")
    readings = models.JSONField(default=dict, blank=True)
    note = models.TextField(blank=True)
    from_observation = models.UUIDField(null=True, blank=True, db_comment="The assessment of real work that it logs")

    objects = UpkeepEntryQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["equipment", "task", "happened_on"], name="upkeep_entry_lookup"),
            models.Index(  # asked for each sign-off; few entries have one
                fields=["from_observation"], condition=Q(from_observation__isnull=False), name="upkeep_entry_watched"
            ),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(stood_by__isnull=True) | ~Q(stood_by=models.F("done_by")), name="nobody_stands_by_oneself"
            )
        ]

    @property
    def result(self) -> "ResultRead | None":
        """What was read of it later, as it stands."""
        rows = getattr(self, "results_read", None)
        if rows is None:
            rows = list(ResultRead.objects.live().filter(entry=self).in_order())
        return rows[-1] if rows else None

    @property
    def all_readings(self) -> dict[str, Any]:
        """What was read on its day, and later."""
        result = self.result
        return self.readings | (result.readings if result else {})


class ResultRead(Fact):
    """What was read of an entry on a later day than that of its sample: a culture that had to grow first."""

    entry = models.ForeignKey(UpkeepEntry, models.PROTECT, related_name="results")
    done_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    readings = models.JSONField()
    note = models.TextField(blank=True)


class EntryPhoto(Fact):
    """What it looked like: a JPEG of the register's own making. The seal covers its digest, and so every byte of it."""

    by_digest = ("picture",)

    entry = models.ForeignKey(UpkeepEntry, models.PROTECT, related_name="photos")
    picture = models.BinaryField()


class Use(Fact):
    """What a unit was used for on a day: how many parts of which material, or cycles of a driver."""

    equipment = models.ForeignKey(Equipment, models.PROTECT, related_name="uses")
    units = models.PositiveIntegerField()
    material = models.CharField(max_length=40, blank=True)
    wet = models.BooleanField(null=True)

    class Meta:
        indexes = [
            models.Index(fields=["equipment", "happened_on"], name="use_lookup"),
            models.Index(fields=["site", "happened_on"], name="use_of_site"),
        ]
        constraints = [models.CheckConstraint(condition=Q(units__gt=0), name="use_counts_something")]


class FollowUpQuerySet(FactQuerySet):
    def standing(self, known_by: datetime | None = None) -> Self:
        """Those of readings that stand: taking back the entry, or the result, takes its follow-ups with it."""
        of_result = Q(result__isnull=True) | Q(Stands("result", known_by))
        return self.live(known_by).filter(Stands("entry", known_by)).filter(of_result)


class FollowUp(Fact):
    """Opened by a reading out of limits, closed by a good one. Has a due day of its own.

    `happened_on` is the day on which it was known: that of the entry, or of the result that was read later.
    """

    free_lines = ("reading",)

    entry = models.ForeignKey(UpkeepEntry, models.PROTECT, related_name="follow_ups")
    result = models.ForeignKey(ResultRead, models.PROTECT, null=True, related_name="follow_ups")
    reading = models.CharField(max_length=80)
    what_to_do = models.TextField()
    due_on = models.DateField()
    closed_on: date | None = None  # no column: `clinic.reads.follow_ups` finds the good reading that closed it

    objects = FollowUpQuerySet.as_manager()
