"""The bands by which a site judges the coolant of its mills."""

from django.db import models
from django.db.models import Q

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
