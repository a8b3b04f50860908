"""What a step, or an answer of the walk round, looks like at this place: photos taken with the phone."""

from django.db import models
from django.db.models import Q

from clinic.models import Equipment, Fact, SiteFact
from training.models.procedures import Procedure


class PlacePhoto(Fact):
    """A JPEG of the register's own making, beside a site fact or beside a step of a procedure, at one unit or at the site.
    The newest that stands is shown. The seal covers its digest, and so every byte of it. What was covered before it was kept
    is in none of its bytes."""

    by_digest = ("picture",)

    site_fact = models.ForeignKey(SiteFact, models.PROTECT, null=True, blank=True, related_name="+")
    procedure = models.ForeignKey(Procedure, models.PROTECT, null=True, blank=True, related_name="+")
    step = models.CharField(max_length=40, blank=True, db_comment="Key of the step, the same in every version")
    equipment = models.ForeignKey(Equipment, models.PROTECT, null=True, blank=True, related_name="+")
    says = models.CharField(max_length=160, db_comment="What it shows, for whoever does not see it")
    picture = models.BinaryField()

    class Meta:
        indexes = [models.Index(fields=["site", "happened_on"], name="place_photo_lookup")]
        constraints = [
            models.CheckConstraint(
                condition=Q(site_fact__isnull=False, procedure__isnull=True, step="")
                | (Q(site_fact__isnull=True, procedure__isnull=False) & ~Q(step="")),
                name="place_photo_beside_one",
            ),
            models.CheckConstraint(condition=~Q(says=""), name="place_photo_says"),
        ]
