"""The fact base: rows that are added and never changed, each sealed in its site's hash chain.

What a seal covers is written down once as a `SealShape` and named in the seal: which columns of the fact, and which of the
rows that belong to it. A column added later is in no older shape; there it must hold its default, and the check says so.

A fact carries who, when it happened, when it was recorded and at which site. A mistake is put right by a later fact that
names it (`corrects`) and says why. The database itself refuses to change or delete a fact: see `clinic.models.refusal`.
"""

import uuid
from collections.abc import Collection, Iterable
from datetime import UTC, datetime
from functools import cache
from operator import attrgetter
from typing import Any, Self

from django.db import models
from django.db.models import Q

from clinic.rules.seal import FORM, Sealed, digest, sha256_hex

PLAIN = (str, int, bool, dict, list)


class Stands(models.Func):
    """Whether no seal says that a later fact corrects the row of this key, or none recorded by the instant.

    Almost every question about facts asks it. Its statement is always the same, so it is written here once: putting it
    together anew as a query within each query took a third of the time of asking.
    """

    output_field = models.BooleanField()

    def __init__(self, key: str = "pk", known_by: datetime | None = None) -> None:
        instant = [] if known_by is None else [models.Value(known_by, models.DateTimeField())]
        super().__init__(models.F(key), *instant)

    def as_sql(self, compiler: Any, connection: Any, *_: Any, **__: Any) -> tuple[str, Any]:
        (key, params), *instant = [compiler.compile(each) for each in self.get_source_expressions()]
        seal = connection.ops.quote_name(Seal._meta.db_table)
        known = f" AND {seal}.recorded_at <= {instant[0][0]}" if instant else ""
        named = f"SELECT {seal}.corrects FROM {seal} WHERE {seal}.corrects IS NOT NULL{known}"
        return f"NOT ({key} IN ({named}))", (*params, *(instant[0][1] if instant else ()))


class FactQuerySet(models.QuerySet):  # type: ignore[type-arg]
    def live(self, known_by: datetime | None = None) -> Self:
        """Facts that stand: recorded by the instant, and named by no correction recorded by then."""
        facts = self if known_by is None else self.filter(recorded_at__lte=known_by)
        return facts.filter(Stands(known_by=known_by))

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
    # single lines that are no name of anything: made by the register, or words that are as free as a note
    free_lines: tuple[str, ...] = ()
    # texts that papers print as what something is called, as they do each other single line
    named_texts: tuple[str, ...] = ()
    # columns that stand in the content by their SHA-256: of their bytes, or of their canonical JSON
    by_digest: tuple[str, ...] = ()

    class Meta:
        abstract = True

    @classmethod
    def fact_kind(cls) -> str:
        return cls._meta.label_lower

    @classmethod
    def printed_names(cls) -> list[str]:
        """The columns that papers print as a name: of a product, a place, a trainer. Their letters are those of the papers."""
        lines = [column.name for column in cls._meta.concrete_fields if is_line(column)]
        return [*(name for name in lines if name not in cls.free_lines), *cls.named_texts]

    def own_content(self) -> dict[str, Any]:
        """Every stored column, as plain text, numbers and lists. Nothing, no and empty stay three answers."""
        return plain_columns(self, self.by_digest)

    @classmethod
    def seal_covers(cls) -> dict[str, Any]:
        """What a seal made now covers: every column of the fact, and of every row that belongs to it."""
        children = {name: attnames(cls._meta.get_field(name).related_model) for name in cls.sealed_children}
        return {"kind": cls.fact_kind(), "fields": attnames(cls), "children": children}

    def sealed_content(self, covers: dict[str, Any] | None = None) -> dict[str, Any]:
        """What a seal of that shape covers. KeyError names a column that is no more."""
        shape = covers or self.seal_covers()
        parts = {
            name: [chosen(row.own_content(), fields) for row in sorted(getattr(self, name).all(), key=attrgetter("pk"))]
            for name, fields in shape["children"].items()
        }
        return chosen(self.own_content(), shape["fields"]) | parts

    def said_beyond(self, covers: dict[str, Any]) -> list[str]:
        """Columns, and kinds of rows, that came after that shape and yet say something here."""
        found = columns_beyond(self, covers["fields"])
        for name in self.sealed_children:
            fields, rows = covers["children"].get(name), getattr(self, name).all()
            found += [name] if fields is None and rows else []
            found += [f"{name}.{each}" for row in rows if fields for each in columns_beyond(row, fields)]
        return found


def is_line(column: Any) -> bool:
    """One line that somebody types, and no choice."""
    return isinstance(column, models.CharField) and not column.choices


def attnames(model: Any) -> list[str]:
    return list(columns_of(model))


@cache
def columns_of(model: Any) -> tuple[str, ...]:
    return tuple(sorted(field.attname for field in model._meta.concrete_fields))


def plain_columns(row: models.Model, by_digest: Collection[str] = ()) -> dict[str, Any]:
    columns = columns_of(type(row))
    return {name: (digested if name in by_digest else plain)(getattr(row, name)) for name in columns}


def digested(value: Any) -> str:
    return sha256_hex(bytes(value)) if isinstance(value, bytes | bytearray | memoryview) else digest(value)


def chosen(content: dict[str, Any], fields: Iterable[str]) -> dict[str, Any]:
    return {name: content[name] for name in fields}


def columns_beyond(row: models.Model, fields: Iterable[str]) -> list[str]:
    later = [field for field in row._meta.concrete_fields if field.attname not in fields]
    return [field.attname for field in later if field.value_from_object(row) != field.get_default()]


class FactPart(models.Model):
    """A row that belongs to one fact, is recorded with it and shares its seal. Its key is made from the fact's."""

    class Meta:
        abstract = True

    def own_content(self) -> dict[str, Any]:
        return plain_columns(self)


def plain(value: Any) -> Any:
    """The JSON form of a column's value. Decimals and days become text, so that no float is ever sealed (row F-10)."""
    if value is None or isinstance(value, PLAIN):
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

    free_lines = ("about", "about_id", "said")

    about = models.CharField(max_length=80, db_comment="Model label")
    about_id = models.CharField(max_length=40)
    said = models.CharField(max_length=240, db_comment="In words, with names as they were on that day")
    before = models.JSONField(default=dict)
    after = models.JSONField(default=dict)


class SealShape(models.Model):
    """What seals of one kind of fact cover: the kind, its columns, and those of the rows that belong to it. Its key is the
    digest of that, which each seal names and binds; made after each migration, and never changed."""

    digest = models.CharField(max_length=64, primary_key=True)
    covers = models.JSONField()

    def __str__(self) -> str:
        return f"{self.covers['kind']}, shape {self.digest[:8]}"


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
    form = models.PositiveSmallIntegerField(default=FORM, db_comment="How the link is made; see clinic.rules.seal")
    shape = models.ForeignKey(SealShape, models.PROTECT, related_name="+", db_index=False)
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
        indexes = [
            models.Index(fields=["corrects", "recorded_at"], name="seal_corrects"),
            models.Index(fields=["site", "recorded_at"], name="seal_newest"),  # asked before each fact
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.position}, seal {self.digest[:8]}"

    @property
    def sealed(self) -> Sealed:
        """What the link binds, as this row says it."""
        return Sealed(
            previous=self.previous, position=self.position, site=str(self.site_id), kind=self.kind, fact=str(self.fact),
            corrects=str(self.corrects) if self.corrects else None, recorded_at=plain(self.recorded_at),
            shape=self.shape_id, content=self.content_digest,
        )  # fmt: skip
