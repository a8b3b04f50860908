"""What is on the shelf and when more is ordered; and what a unit says on its screen, with the site's own remedy."""

from django.db import models
from django.db.models import Q

from clinic.models.equipment import Equipment
from clinic.models.records import Fact
from clinic.models.tools import choices
from clinic.rules.stock import Shelf, StockSays
from clinic.rules.tools import Tool


class StockLine(Fact):
    """Something that the site keeps in stock, from a day, by its name; the newest line of a name counts. `line`: at this
    number more is ordered, up to `full`; a full of 0 says that it is not kept any more. Of spare tools kind and size say which."""

    name = models.CharField(max_length=80)
    shelf = models.CharField(max_length=30, choices=choices(Shelf))
    line = models.PositiveIntegerField()
    full = models.PositiveIntegerField()
    tool = models.CharField(max_length=30, choices=choices(Tool), blank=True)
    size = models.CharField(max_length=40, blank=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(full=0) | Q(full__gt=models.F("line")), name="stock_full_above_line")]  # fmt: skip


class StockMoved(Fact):
    """What was counted on the shelf, came in or was used, by the name of its line."""

    name = models.CharField(max_length=80)
    what = models.CharField(max_length=10, choices=choices(StockSays))
    number = models.PositiveIntegerField()

    class Meta:
        indexes = [models.Index(fields=["site", "name"], name="stock_lookup")]


class UnitMessage(Fact):
    """A message that units of the site show, with what the site does about it; the newest of a code counts. Without a unit it
    is of every unit. What its maker says wins."""

    free_lines = ("shown",)

    equipment = models.ForeignKey(Equipment, models.PROTECT, null=True, blank=True, related_name="messages")
    code = models.CharField(max_length=40)
    shown = models.CharField(max_length=200, blank=True)
    remedy = models.TextField()
    source = models.CharField(max_length=200, blank=True)
