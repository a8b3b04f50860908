"""Standing, stored as spans when facts are written, so that a question over thousands of people is one indexed look-up.

Where a fact touches very many, their spans wait for a worker; `objects` answers as if they did not (`read_through`), and
`stored`, which only those ask who write and prove them, what is in the table. Nothing here is a fact: `manage.py spans`
rebuilds every row from the facts and proves it the same.
"""

from datetime import date
from typing import Any, Self

from django.db import models
from django.db.models import Q

from clinic.models import Person
from training.models.procedures import Procedure
from training.models.read_through import ReadThrough


class SpanQuerySet(models.QuerySet):  # type: ignore[type-arg]
    def __init__(self, model: Any = None, query: Any = None, **more: Any) -> None:
        super().__init__(model, query or ReadThrough(model), **more)

    def on(self, day: date) -> Self:
        return self.filter(Q(first__lte=day) & (Q(after__isnull=True) | Q(after__gt=day)))

    def overlapping(self, first: date, last: date) -> Self:
        return self.filter(Q(first__lte=last) & (Q(after__isnull=True) | Q(after__gt=first)))

    def usable(self) -> Self:
        return self.filter(usable=True)


class StandingSpan(models.Model):
    """One stretch of one person's standing in one procedure; [first, after), after empty: nothing recorded ends it.
    Where no span holds, the person is untrained with no evidence."""

    person = models.ForeignKey(Person, models.CASCADE, related_name="standing")
    procedure = models.ForeignKey(Procedure, models.CASCADE, related_name="standing")
    first = models.DateField()
    after = models.DateField(null=True)
    state = models.CharField(max_length=12)
    usable = models.BooleanField()
    basis = models.CharField(max_length=12, blank=True)
    cause = models.CharField(max_length=60, blank=True)
    ends_on = models.DateField(null=True, db_comment="The last good day, whatever ends it")
    ends_because = models.CharField(max_length=20, blank=True)
    ends_by = models.CharField(max_length=60, blank=True)

    objects = SpanQuerySet.as_manager()
    stored = models.Manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person", "procedure", "first"], name="standing_span_once")]
        indexes = [models.Index(fields=["procedure", "usable", "first"], name="standing_span_usable")]


class EvidenceSpan(models.Model):
    """None, some or enough evidence, whatever the state. Where no span holds: none."""

    person = models.ForeignKey(Person, models.CASCADE, related_name="evidence_spans")
    procedure = models.ForeignKey(Procedure, models.CASCADE, related_name="evidence_spans")
    first = models.DateField()
    after = models.DateField(null=True)
    evidence = models.CharField(max_length=10)

    objects = SpanQuerySet.as_manager()
    stored = models.Manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person", "procedure", "first"], name="evidence_span_once")]
