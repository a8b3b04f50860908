"""The fact base: rows that are added and never changed, each sealed in its site's hash chain.

A fact carries who, when it happened, when it was recorded and at which site. A mistake is put right by a later fact that
names it (`corrects`) and says why. The database itself refuses to change or delete a fact: see `clinic.models.refusal`.
"""

import uuid
from datetime import UTC, datetime
from typing import Any, Self

from django.db import models
from django.db.models import Q


class FactQuerySet(models.QuerySet):  # type: ignore[type-arg]
    def live(self, known_by: datetime | None = None) -> Self:
        """Facts that stand: recorded by the instant, and named by no correction recorded by then."""
        named = Seal.objects.filter(corrects__isnull=False)
        facts = self
        if known_by is not None:
            named, facts = named.filter(recorded_at__lte=known_by), facts.filter(recorded_at__lte=known_by)
        return facts.exclude(pk__in=named.values("corrects"))

    def in_order(self) -> Self:
        """By day; a fact without a time comes after those of its day that have one; then as recorded."""
        return self.order_by("happened_on", models.F("happened_at").asc(nulls_last=True), "recorded_at", "pk")


class Fact(models.Model):
    """What somebody recorded. Made only by `clinic.record.record`, never saved twice."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    site = models.ForeignKey("clinic.Site", models.PROTECT, related_name="+")
    happened_on = models.DateField(db_comment="The day at the site on which it happened")
    happened_at = models.TimeField(null=True, blank=True, db_comment="Local time, where it was written down")
    recorded_at = models.DateTimeField(editable=False)
    recorded_by = models.ForeignKey("clinic.Person", models.PROTECT, null=True, related_name="+")
    corrects = models.UUIDField(null=True, blank=True, db_index=True, db_comment="The fact that this one voids")
    reason = models.TextField(blank=True, db_comment="Why a correction, or why at all")

    objects = FactQuerySet.as_manager()

    # children that belong to the fact's content: (related name, ordering)
    sealed_children: tuple[str, ...] = ()

    class Meta:
        abstract = True

    @classmethod
    def fact_kind(cls) -> str:
        return cls._meta.label_lower

    def own_content(self) -> dict[str, Any]:
        """Every stored column, as plain text, numbers and lists."""
        return {field.attname: plain(field.value_from_object(self)) for field in self._meta.concrete_fields}

    def sealed_content(self) -> dict[str, Any]:
        """What the seal covers: every column that says something, and every row that belongs to the fact."""
        children = {
            name: [filled(row.own_content()) for row in getattr(self, name).order_by("pk")]
            for name in self.sealed_children
        }
        return filled(self.own_content() | children)


EMPTY: tuple[Any, ...] = ("", [], {})


class FactPart(models.Model):
    """A row that belongs to one fact, is recorded with it and shares its seal. Its key is made from the fact's."""

    class Meta:
        abstract = True

    def own_content(self) -> dict[str, Any]:
        return {field.attname: plain(field.value_from_object(self)) for field in self._meta.concrete_fields}


def filled(content: dict[str, Any]) -> dict[str, Any]:
    """Without what is empty or no, so that a column added later leaves the seals of older facts whole. What is emptied, or
    filled in, is still seen: it goes, or comes. Nought is a number, and stays."""
    return {name: value for name, value in content.items() if not (value is None or value is False or value in EMPTY)}


def plain(value: Any) -> Any:
    """The JSON form of a column's value. Decimals and days become text, so that no float is ever sealed (row F-10)."""
    if value is None or isinstance(value, str | int | bool | dict | list):
        return value
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    return value.isoformat() if hasattr(value, "isoformat") else str(value)


class Voiding(Fact):
    """Takes a fact away without putting another in its place. `corrects` names it."""

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(corrects__isnull=False) & ~Q(reason=""), name="voiding_names_and_reasons"
            )
        ]


class Change(Fact):
    """What was changed in the reference data (a person, a role, a unit, a setting), by whom, from what to what."""

    about = models.CharField(max_length=80, db_comment="Model label")
    about_id = models.CharField(max_length=40)
    said = models.CharField(max_length=240, db_comment="In words, with names as they were on that day")
    before = models.JSONField(default=dict)
    after = models.JSONField(default=dict)


class SealQuerySet(models.QuerySet):  # type: ignore[type-arg]
    def of_site(self, site: Any) -> Self:
        return self.filter(site=site).order_by("position")


class Seal(models.Model):
    """One link of a site's hash chain: which fact, what it said, and the link before it."""

    site = models.ForeignKey("clinic.Site", models.PROTECT, related_name="seals")
    position = models.PositiveBigIntegerField()
    kind = models.CharField(max_length=60)
    fact = models.UUIDField(unique=True)
    corrects = models.UUIDField(null=True)
    recorded_at = models.DateTimeField()
    content_digest = models.CharField(max_length=64)
    previous = models.CharField(max_length=64)
    digest = models.CharField(max_length=64)

    objects = SealQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "position"], name="seal_one_at_a_position"),
            models.UniqueConstraint(
                fields=["corrects"], condition=Q(corrects__isnull=False), name="seal_a_fact_is_corrected_once"
            ),
        ]
        indexes = [models.Index(fields=["corrects", "recorded_at"], name="seal_corrects")]

    def __str__(self) -> str:
        return f"{self.kind} {self.position}, seal {self.digest[:8]}"
