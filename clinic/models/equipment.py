"""Units that are looked after, and the stretches when they may not be used."""

import uuid
from datetime import date
from typing import Self

from django.db import models
from django.db.models import Q

from clinic.models.organisation import Site
from clinic.models.records import Fact


class EquipmentKind(models.TextChoices):
    MILLING_UNIT = "milling unit", "Milling unit"
    COOLANT_TANK = "coolant tank", "Coolant tank"
    COOLANT_FILTER = "coolant filter", "Coolant filter"
    SUCTION_UNIT = "suction unit", "Suction unit"
    TORQUE_DRIVER = "torque driver", "Torque driver"
    REFERENCE_DRIVER = "reference driver", "Reference for torque drivers"
    STERILISER = "steriliser", "Steriliser"
    DENTAL_UNIT = "dental unit", "Dental unit"
    WATER_LINE = "dental-unit water line", "Dental-unit water line"
    EYEWASH = "eyewash", "Eyewash"
    SHARPS_TUB = "sharps tub", "Sharps tub"
    TABLET = "shared tablet", "Shared tablet"
    SITE = "site", "The site itself"


class EquipmentQuerySet(models.QuerySet):  # type: ignore[type-arg]
    def in_service_on(self, day: date) -> Self:
        return self.filter(Q(in_service_from__lte=day) & (Q(in_service_to__isnull=True) | Q(in_service_to__gte=day)))


class Equipment(models.Model):
    """One unit at a site. `part_of` says which unit a tank, a filter or a water line belongs to."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    site = models.ForeignKey(Site, models.PROTECT, related_name="equipment")
    kind = models.CharField(max_length=30, choices=EquipmentKind)
    label = models.CharField(max_length=80, help_text="What people here call it, such as “unit 2, by the sink”.")
    serial = models.CharField(max_length=60, blank=True)
    part_of = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="parts")
    in_service_from = models.DateField()
    in_service_to = models.DateField(null=True, blank=True)

    objects = EquipmentQuerySet.as_manager()

    class Meta:
        ordering = ["kind", "label", "id"]
        verbose_name_plural = "equipment"
        constraints = [
            models.UniqueConstraint(fields=["site", "label"], name="equipment_label_once"),
            models.CheckConstraint(
                condition=Q(in_service_to__isnull=True) | Q(in_service_to__gte=models.F("in_service_from")),
                name="equipment_service_ends_after_start",
            ),
        ]

    def __str__(self) -> str:
        return self.label


class OpeningReading(Fact):
    """Where a task of a unit stood on the day the register took it over. Nobody is overdue on the first morning."""

    equipment = models.ForeignKey(Equipment, models.PROTECT, related_name="opening_readings")
    task = models.ForeignKey("clinic.UpkeepTask", models.PROTECT, related_name="+")
    last_done = models.DateField()
    units = models.PositiveIntegerField(default=0, help_text="Parts, or cycles, since it was last done.")


class OutOfService(Fact):
    """From this moment nobody uses the unit. One tap, by anybody on duty."""

    equipment = models.ForeignKey(Equipment, models.PROTECT, related_name="stops")


class ReturnToService(Fact):
    """A usable person returned the unit after the check that its procedure names."""

    equipment = models.ForeignKey(Equipment, models.PROTECT, related_name="returns")
    check_done = models.TextField(help_text="What was checked before it went back into use.")
