"""Which job roles need which procedure, within how many days, from a day to a day."""

from datetime import date
from typing import Self

from django.db import models
from django.db.models import Q

from clinic.models import JobRole, Site
from clinic.models.people import holds_on
from training.models.procedures import Procedure


class RequirementQuerySet(models.QuerySet):  # type: ignore[type-arg]
    def in_force(self, on: date) -> Self:
        return self.filter(holds_on(on))

    def at(self, site: Site) -> Self:
        return self.filter(Q(site=site) | Q(site__isnull=True))


class Requirement(models.Model):
    """A job role needs a procedure. Site empty: at every site of the organisation."""

    job_role = models.ForeignKey(JobRole, models.PROTECT, related_name="requirements")
    procedure = models.ForeignKey(Procedure, models.PROTECT, related_name="requirements")
    site = models.ForeignKey(Site, models.PROTECT, null=True, blank=True, related_name="requirements")
    days_allowed = models.PositiveIntegerField(help_text="Days after starting the role; the last one is the due day.")
    from_day = models.DateField()
    to_day = models.DateField(null=True, blank=True)

    objects = RequirementQuerySet.as_manager()

    class Meta:
        ordering = ["procedure__code", "job_role__title", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(to_day__isnull=True) | Q(to_day__gte=models.F("from_day")),
                name="requirement_ends_after_start",
            )
        ]

    def __str__(self) -> str:
        return f"{self.job_role}: {self.procedure}"
