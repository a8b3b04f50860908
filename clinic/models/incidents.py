"""Sharps injuries and other events. Confidential, and without any medical detail: there is no field for it.

Nothing here links to a withdrawal or to anyone's standing. What follows an event is a look at the procedure and the place.
"""

from django.db import models

from clinic.models.equipment import Equipment
from clinic.models.records import Fact


class Incident(Fact):
    """An injury, an event or a near miss. `recorded_by` is empty where it was filed without a name."""

    class Kind(models.TextChoices):
        SHARPS = "sharps injury", "Sharps injury"
        OTHER = "other injury", "Other injury"
        EVENT = "event", "Event without injury"
        NEAR_MISS = "near miss", "Near miss"

    class Contaminated(models.TextChoices):
        YES = "yes", "Yes"
        NO = "no", "No"
        UNSURE = "unsure", "Unsure"

    kind = models.CharField(max_length=20, choices=Kind)
    contaminated = models.CharField(max_length=10, choices=Contaminated, blank=True)
    item = models.CharField(
        max_length=120, blank=True, help_text="Kind and brand of the item, or “none” or “unknown” (O-09)."
    )
    place = models.CharField(max_length=120)
    how = models.TextField(help_text="How it happened. No names.")
    equipment = models.ForeignKey(Equipment, models.PROTECT, null=True, blank=True, related_name="incidents")
    procedure_code = models.CharField(max_length=10, blank=True)
    learned_at = models.DateTimeField(
        null=True, blank=True, help_text="When the practice learned of it, where that was later than the event (O-16)."
    )
    referred = models.BooleanField(default=False, help_text="Sent to the named clinician or urgent care.")


class IncidentReview(Fact):
    """What was looked at in the procedure and the place, and what was changed."""

    incident = models.ForeignKey(Incident, models.PROTECT, related_name="reviews")
    looked_at = models.TextField()
    changed = models.TextField()
    causes = models.JSONField(
        default=list, db_comment="What it came from: the place, a tool, the procedure, never a person"
    )
