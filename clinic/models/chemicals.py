"""The list of chemicals: which product is where, with its hazard classes and the revision of its data sheet."""

from django.db import models

from clinic.models.records import Fact


class ChemicalListed(Fact):
    """A product at a place from its day. A hazard class that was not here before opens teaching (O-24)."""

    product = models.CharField(max_length=120)
    hazard_classes = models.JSONField(default=list)
    sheet_revision = models.DateField(help_text="Day of the revision of the safety data sheet.")
    place = models.CharField(max_length=120)


class ChemicalGone(Fact):
    """The last day a product was here is the day before this one's."""

    listed = models.ForeignKey(ChemicalListed, models.PROTECT, related_name="goings")
