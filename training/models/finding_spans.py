"""Findings, stored as spans when facts are written, so that a page or a binder looks them up.

Nothing here is a fact: `manage.py spans` rebuilds every row from the facts and proves it the same.
"""

from datetime import date
from typing import Self

from django.db import models
from django.db.models import Q

from clinic.models import Site
from clinic.rules.findings import Weight


class FindingSpanQuerySet(models.QuerySet):  # type: ignore[type-arg]
    def on(self, day: date) -> Self:
        return self.filter(Q(after__isnull=True) | Q(after__gt=day), first__lte=day)

    def begun_by(self, day: date) -> Self:
        return self.filter(first__lte=day)


class FindingSpan(models.Model):
    """One stretch of one finding; [first, after), after empty: nothing recorded ends it. `kind` and `subject` say what it is
    computed for, so that a write refreshes what it touched."""

    site = models.ForeignKey(Site, models.CASCADE, related_name="finding_spans")
    kind = models.CharField(max_length=20)
    subject = models.CharField(max_length=90, blank=True)
    key = models.CharField(max_length=160, db_comment="The same in every stretch of one occurrence")
    weight = models.CharField(max_length=4, choices=[(one.value, one.value) for one in Weight])
    code = models.CharField(max_length=40)
    about = models.TextField()
    evidence = models.JSONField(db_comment="Ids of facts")
    since = models.DateField(db_comment="First day of the occurrence")
    sentence = models.TextField()
    ends_when = models.TextField()
    first = models.DateField()
    after = models.DateField(null=True)
    counted_from = models.DateField(null=True, db_comment="The days that the sentence says are counted from this one")

    objects = FindingSpanQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["site", "kind", "subject"], name="finding_span_subject"),
            models.Index(fields=["site", "after"], name="finding_span_after"),
            models.Index(fields=["site", "key"], name="finding_span_key"),
        ]

    def __str__(self) -> str:
        return self.key


class FindingsKept(models.Model):
    """The stored findings of this site are what the facts say. Without it they are computed until a worker has stored them:
    a new site, and one whose staff, requirements or units were changed."""

    site = models.OneToOneField(Site, models.CASCADE, primary_key=True, related_name="findings_kept")
