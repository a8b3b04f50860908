"""Torque drivers and the references they are checked by: what their papers say, and each verification with its readings."""

from django.db import models

from clinic.models.equipment import Equipment
from clinic.models.people import Person
from clinic.models.records import Fact
from clinic.rules.words import day_words


class DriverDetails(Fact):
    """What a driver is, from a day; the newest counts. Torques are text with their unit, so that no digit is lost."""

    equipment = models.ForeignKey(Equipment, models.PROTECT, related_name="driver_details")
    driver_class = models.CharField(max_length=1, help_text="A to G, as on its paper (T-01).")
    seat = models.CharField(max_length=40, help_text="What it fits, such as “hex 1.3”.")
    set_torque = models.CharField(max_length=20)
    most_torque = models.CharField(max_length=20)
    lowest_marked = models.CharField(max_length=20, blank=True)
    torque_unit = models.CharField(max_length=10)
    target_source = models.CharField(max_length=200, help_text="Where the unit maker gives the target torque (T-14).")
    declared_percent = models.CharField(
        max_length=10, blank=True, help_text="The maker’s own limit, where it is tighter (T-03)."
    )
    paper = models.CharField(max_length=40)
    paper_number = models.CharField(max_length=60, blank=True)


class ReferenceDetails(Fact):
    """What a reference is, from a day: how right it is, and the last good day of its own check (T-09)."""

    equipment = models.ForeignKey(Equipment, models.PROTECT, related_name="reference_details")
    percent = models.CharField(
        max_length=10, help_text="Largest deviation of its reading, with its uncertainty, in percent."
    )
    good_through = models.DateField()
    paper = models.CharField(max_length=40)
    paper_number = models.CharField(max_length=60, blank=True)
    paper_day = models.DateField(
        null=True, blank=True, db_comment="The day that stands on the paper; it may be left out"
    )

    @property
    def paper_words(self) -> str:
        """Calibration certificate CC-2603 of 2 March 2026; what was left out is said."""
        number = self.paper_number or "without a number"
        return f"{self.paper} {number}{f' of {day_words(self.paper_day)}' if self.paper_day else ', its day not said'}"


class Verification(Fact):
    """One check of a driver by readings. Whether it passed is computed from them by what was in force that day."""

    equipment = models.ForeignKey(Equipment, models.PROTECT, related_name="verifications")
    reference = models.ForeignKey(Equipment, models.PROTECT, related_name="+")
    done_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    points = models.JSONField(help_text="For each set torque its readings, as text, in the order read.")
    room_lowest = models.CharField(max_length=10)
    room_highest = models.CharField(max_length=10)
    note = models.TextField(blank=True)
