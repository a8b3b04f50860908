"""Milling tools: what they are, where they sit, and what the unit's maker lets them mill."""

import uuid

from django.db import models
from django.db.models import Q

from clinic.models.equipment import Equipment
from clinic.models.organisation import Site
from clinic.models.people import Person
from clinic.models.records import Fact
from clinic.rules.tools import Material, MillingWay, Tool
from clinic.rules.words import begun


def choices(words: type) -> list[tuple[str, str]]:
    return [(word.value, begun(word.value)) for word in words]  # type: ignore[attr-defined]


class MillingTool(models.Model):
    """One tool with the code printed on it. Its kind is read from that code; looks only confirm (Z-07)."""

    class Life(models.TextChoices):
        PARTS = "parts", "Parts"
        MINUTES = "minutes", "Minutes"
        PERCENT = "percent", "Percent"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    site = models.ForeignKey(Site, models.PROTECT, related_name="milling_tools")
    code = models.CharField(
        max_length=40, help_text="As printed on the tool, with a number of your own where there are several."
    )
    kind = models.CharField(max_length=30, choices=choices(Tool))
    size = models.CharField(max_length=40, blank=True)
    seat = models.CharField(max_length=40, help_text="The driver that fits, such as “hex 1.3”.")
    positions = models.CharField(
        max_length=40, blank=True, help_text="Positions it may sit in, with commas; empty: any."
    )
    life_unit = models.CharField(max_length=10, choices=Life, default=Life.PARTS)
    life = models.PositiveIntegerField(
        null=True, blank=True, help_text="A full life in that unit; empty where none is kept."
    )

    class Meta:
        ordering = ["code", "id"]
        constraints = [
            models.UniqueConstraint(fields=["site", "code"], name="milling_tool_code_once"),
            models.CheckConstraint(condition=Q(life__isnull=True) | Q(life__gt=0), name="milling_tool_life_counts"),
        ]

    def __str__(self) -> str:
        return self.code


class MakersPair(Fact):
    """A line of the unit maker’s table, or of the site's own: this tool may, or may not, mill this material this way."""

    equipment = models.ForeignKey(Equipment, models.PROTECT, related_name="makers_pairs")
    tool = models.CharField(max_length=30, choices=choices(Tool))
    material = models.CharField(max_length=40, choices=choices(Material))
    way = models.CharField(max_length=3, choices=choices(MillingWay))
    allowed = models.BooleanField()
    source = models.CharField(max_length=200)


class ToolMounted(Fact):
    """A tool set into a position, with the driver that tightened it."""

    equipment = models.ForeignKey(Equipment, models.PROTECT, related_name="tools_mounted")
    tool = models.ForeignKey(MillingTool, models.PROTECT, related_name="mountings")
    position = models.CharField(max_length=20)
    driver = models.ForeignKey(Equipment, models.PROTECT, null=True, blank=True, related_name="tools_tightened")
    clicked = models.BooleanField(null=True)
    material = models.CharField(max_length=40, blank=True)
    wet = models.BooleanField(null=True)
    life_used = models.PositiveIntegerField(default=0, help_text="What was used of its life before.")
    counted_out = models.PositiveSmallIntegerField(null=True, db_comment="Tools counted before the door opened")
    counted_in = models.PositiveSmallIntegerField(null=True, db_comment="Tools counted before the door closed")
    done_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    stood_by = models.ForeignKey(Person, models.PROTECT, null=True, blank=True, related_name="+")


class ToolRemoved(Fact):
    """A tool taken out of its position, with the reason."""

    class Why(models.TextChoices):
        LIFE = "end of life", "End of life"
        CHIP = "chip", "Chipped"
        MARGIN = "rough margins", "Rough margins"
        BREAK = "break", "Broken"
        JOB = "another job", "Another tool for the next job"

    mounting = models.ForeignKey(ToolMounted, models.PROTECT, related_name="removals")
    why = models.CharField(max_length=20, choices=Why)
    life_used = models.PositiveIntegerField(null=True, blank=True)
    counted_out = models.PositiveSmallIntegerField(null=True, db_comment="Tools counted before the door opened")
    counted_in = models.PositiveSmallIntegerField(null=True, db_comment="Tools counted before the door closed")
    done_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
