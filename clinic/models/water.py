"""What water is judged by: the bands of the mills' coolant, the makers' limits of lines, and what changed at a line."""

from django.db import models
from django.db.models import Q

from clinic.models.equipment import Equipment
from clinic.models.records import Fact


class CoolantBands(Fact):
    """From its day: below `reasonable_from` is good, from `poor_from` on is poor, in CFU/mL, with the edition it is from."""

    edition = models.CharField(max_length=160)
    reasonable_from = models.PositiveIntegerField()
    poor_from = models.PositiveIntegerField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(reasonable_from__gt=0) & Q(poor_from__gt=models.F("reasonable_from")),
                name="coolant_bands_rise",
            )
        ]


class WaterLimit(Fact):
    """The maker's limit from its day, for a line, a dental unit and its lines, or every line of the site. Without a number
    the maker gives none, and the 500 of treatment water holds (W-01, W-05)."""

    equipment = models.ForeignKey(Equipment, models.PROTECT, null=True, blank=True, related_name="water_limits")
    number = models.PositiveIntegerField(null=True, blank=True)
    unit = models.CharField(max_length=20, default="CFU/mL")
    source = models.CharField(max_length=200)


class UnitChanged(Fact):
    """A water line was changed from this day: new tubing, another treatment. Two passes in a row prove it again."""

    equipment = models.ForeignKey(Equipment, models.PROTECT, related_name="changes")
    what = models.CharField(max_length=200)
