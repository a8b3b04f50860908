"""What happened to a steriliser between spore tests, and the loads that were released from it."""

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


class LoadReleased(Fact):
    """A load may be used, by its mechanical readings and its chemical indicators (W-17). What may not is never recorded.

    Where the inside indicators cannot be seen through the packs, the outside ones say so: `by_outside`.
    """

    equipment = models.ForeignKey(Equipment, models.PROTECT, related_name="loads")
    load = models.CharField(max_length=40, help_text="Its number, as on the printout.")
    by_outside = models.BooleanField(default=False)
