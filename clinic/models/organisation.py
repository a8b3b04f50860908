"""The legal practice, its sites, and what a site says about itself."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.db import models
from django.db.models import Q

from clinic.models.records import Fact, FactQuerySet


class PaperSize(models.TextChoices):
    A4 = "A4", "A4"
    LETTER = "Letter", "US Letter"


class Organisation(models.Model):
    name = models.CharField(max_length=120)

    def __str__(self) -> str:
        return self.name

    @property
    def oldest_site(self) -> "Site":
        """In whose chain stands what is of no single site. Site.DoesNotExist before the first one is open."""
        return self.sites.order_by("pk")[:1].get()


class Site(models.Model):
    """One address of an organisation. Every fact belongs to one."""

    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="sites")
    name = models.CharField(max_length=120)
    code = models.SlugField(max_length=30, unique=True, help_text="Short name in addresses, such as “harbour-row”.")
    address = models.TextField(blank=True)
    time_zone = models.CharField(max_length=60, default="Europe/London")
    paper = models.CharField(max_length=10, choices=PaperSize, default=PaperSize.A4)
    language = models.CharField(max_length=20, default="en-GB")
    register_start = models.DateField(help_text="The day from which this register answers for the site.")
    working_days = models.CharField(
        max_length=7, default="1111100", help_text="Monday first; 1 for a day on which the site works."
    )
    infection_coordinator = models.CharField(
        max_length=160,
        blank=True,
        help_text="Who coordinates infection prevention here, and how they were trained (row W-21).",
    )
    must_keep_1904 = models.BooleanField(
        default=False, help_text="Whether the site must keep injury records under 29 CFR 1904 (rows O-11, O-14, O-15)."
    )
    last_position = models.PositiveBigIntegerField(default=0, editable=False)
    last_digest = models.CharField(max_length=64, blank=True, editable=False)
    last_recorded_at = models.DateTimeField(null=True, editable=False)
    peaks = models.TextField(blank=True, editable=False, db_comment="Of the Merkle tree over the seals; hex, by spaces")

    class Meta:
        ordering = ["name"]
        constraints = [models.CheckConstraint(condition=Q(working_days__regex="^[01]{7}$"), name="site_working_days")]

    def __str__(self) -> str:
        return self.name

    def works_on(self, day: date) -> bool:
        return self.working_days[day.weekday()] == "1"


class SiteSetting(Fact):
    """A dated setting of a site: how many distinct supervisors it can offer, the least cover of a duty, an interval."""

    class Name(models.TextChoices):
        SUPERVISORS = "distinct supervisors", "Distinct supervisors it can offer"
        LEAST_COVER = "least cover", "Usable people at work, at least"
        SPORE_RECALL_REACH = "recall reach", "Days back that a recall reaches"

    name = models.CharField(max_length=40, choices=Name)
    about = models.CharField(
        max_length=40, blank=True, db_comment="Procedure or task code where the setting is for one"
    )
    value = models.IntegerField()
    source = models.CharField(max_length=200, blank=True)


class SiteFact(models.Model):
    """A question of the walk round: what a step needs to know about this place or unit. Defined by the library."""

    name = models.CharField(max_length=80, unique=True)
    of = models.CharField(max_length=30, help_text="site, or the kind of equipment it is asked for")
    ask = models.TextField()
    question = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["question", "pk"]

    def __str__(self) -> str:
        return "{" + self.name + "}"


class SiteFactValueQuerySet(FactQuerySet):
    def latest_by_fact(self, site: Site) -> dict[tuple[int, Any], "SiteFactValue"]:
        """The answer in force for each (site fact, equipment); one query."""
        rows: Iterable[SiteFactValue] = (
            self.live().filter(site=site).order_by("happened_on", "recorded_at", "pk").select_related("equipment")
        )
        return {(row.site_fact_id, row.equipment_id): row for row in rows}


class SiteFactValue(Fact):
    """An answer of the walk round. The latest one counts; "not used here" lets the step drop out for that unit."""

    named_texts = ("value",)

    site_fact = models.ForeignKey(SiteFact, models.PROTECT, related_name="values")
    equipment = models.ForeignKey("clinic.Equipment", models.PROTECT, null=True, blank=True, related_name="site_facts")
    value = models.TextField(blank=True)
    not_used = models.BooleanField(default=False, help_text="Not used here")

    objects = SiteFactValueQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(not_used=True) | ~Q(value=""), name="site_fact_value_or_not_used")
        ]


class KeptElsewhere(Fact):
    """A paper that this register only points at: place, keeper, last review (the exposure control plan, fit tests …)."""

    what = models.CharField(max_length=120)
    place = models.CharField(max_length=200)
    keeper = models.CharField(max_length=120)
    last_review = models.DateField(null=True, blank=True)


class Closure(Fact):
    """Days on which the site is closed: upkeep clocks stand still. From, up to and not including, after."""

    first = models.DateField()
    after = models.DateField()

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(after__gt=models.F("first")), name="closure_has_days")]
