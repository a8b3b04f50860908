"""What happened to a steriliser between spore tests."""

from django.db import models

from clinic.models.equipment import Equipment
from clinic.models.records import Fact
from clinic.models.upkeep import UpkeepEntry


class SteriliserEvent(Fact):
    """It was repaired, a recall was finished, or a test was run with the chamber empty (W-18)."""

    class What(models.TextChoices):
        REPAIRED = "repaired", "Inspected and repaired"
        RECALLED = "recall done", "Every pack since the last pass found and reprocessed"
        EMPTY = "empty chamber", "The test was run with the chamber empty"

    equipment = models.ForeignKey(Equipment, models.PROTECT, related_name="steriliser_events")
    what = models.CharField(max_length=20, choices=What)
    entry = models.ForeignKey(UpkeepEntry, models.PROTECT, null=True, blank=True, related_name="+")
