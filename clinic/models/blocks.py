"""Lots of blocks with the enlargement factor of their packet."""

import uuid
from decimal import Decimal

from django.db import models
from django.db.models import Q

from clinic.models.organisation import Site
from clinic.models.records import Fact
from clinic.models.tools import choices
from clinic.rules.tools import Material, shrinkage_of


class BlockLot(models.Model):
    """One lot, as its packet says it. The factor of the lot itself is used, because shrinkage varies (Z-04)."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    site = models.ForeignKey(Site, models.PROTECT, related_name="block_lots")
    lot = models.CharField(max_length=60)
    material = models.CharField(max_length=40, choices=choices(Material))
    factor = models.DecimalField(max_digits=6, decimal_places=4, null=True, blank=True)
    received_on = models.DateField()

    class Meta:
        ordering = ["-received_on", "lot", "id"]
        constraints = [
            models.UniqueConstraint(fields=["site", "lot"], name="block_lot_once"),
            models.CheckConstraint(condition=Q(factor__isnull=True) | Q(factor__gte=1), name="block_lot_factor"),
        ]

    def __str__(self) -> str:
        return self.lot

    @property
    def shrinks_percent(self) -> Decimal | None:
        """How much a part of it shrinks along a line when it is fired, in percent; None without a factor (Z-01)."""
        return None if self.factor is None else 100 * shrinkage_of(self.factor)


class FactorEntered(Fact):
    """The factor typed into the unit for a job from a lot; whether it fits the lot's is computed."""

    lot = models.ForeignKey(BlockLot, models.PROTECT, related_name="entered")
    factor = models.DecimalField(max_digits=6, decimal_places=4)
