"""Rows of tables as plain JSON, and back: each column as it is stored, to the microsecond."""

from base64 import b64decode, b64encode
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.core.management.color import no_style
from django.db import connection, models

from clinic.facts import fact_models
from clinic.models import Fact, Seal, Site
from clinic.record import HEAD, next_seal

BATCH = 500
READ: Mapping[str, Callable[[str], Any]] = {
    "DateField": date.fromisoformat,
    "DateTimeField": datetime.fromisoformat,
    "TimeField": time.fromisoformat,
    "UUIDField": UUID,
    "DecimalField": Decimal,
    "BinaryField": b64decode,
}
Table = type[models.Model]


def columns_of(table: Table) -> dict[str, str]:
    """The kind of each stored column, by its name."""
    return {field.attname: kind_of(field) for field in table._meta.concrete_fields}


def kind_of(field: Any) -> str:
    while field.remote_field:
        field = field.target_field
    return str(field.get_internal_type())


def written(value: Any) -> Any:
    """A column's value as JSON holds it."""
    if isinstance(value, bytes | memoryview):
        return b64encode(value).decode()
    if isinstance(value, date | time):
        return value.isoformat()
    return str(value) if isinstance(value, UUID | Decimal) else value


def read(kind: str, value: Any) -> Any:
    """The value again, of a column of that kind."""
    return READ[kind](value) if value is not None and kind in READ else value


def put(table: Table, columns: Mapping[str, Sequence[Any]]) -> None:
    """Rows into a table as they were stored, given by column: nothing is computed anew, and nobody is told."""
    names = list(columns_of(table))
    rows = zip(*(columns[name] for name in names), strict=True)
    table._base_manager.bulk_create((table.from_db("default", names, row) for row in rows), batch_size=BATCH)


def number_on(tables: Sequence[Table]) -> None:
    """What is entered later gets numbers after those that were put."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), tables):
            cursor.execute(statement)


def tell_planner() -> None:
    """Many rows of one transaction: PostgreSQL's planner knows nothing of them until it is told, and would go on reading
    whole tables that it takes for empty."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")


def seal_anew(order: Iterable[tuple[str, UUID]]) -> int:
    """Seal facts that stand in the tables and are in no chain yet, in the order in which they were recorded. What a seal says
    is worked out from the rows as they are now. Returns how many."""
    facts = facts_by_kind()
    sites = {site.pk: site for site in Site.objects.select_for_update().order_by("pk")}
    seals = [next_seal(facts[kind][key], sites[facts[kind][key].site_id]) for kind, key in order]
    Seal.objects.bulk_create(seals, batch_size=BATCH)
    for site in sites.values():
        site.save(update_fields=HEAD)
    return len(seals)


def facts_by_kind() -> dict[str, dict[UUID, Fact]]:
    return {
        kind: {fact.pk: fact for fact in model._default_manager.prefetch_related(*model.sealed_children)}
        for kind, model in fact_models().items()
    }


def order_of_seals() -> Iterator[tuple[str, UUID]]:
    """Every fact in the order in which it was recorded, over all sites."""
    yield from Seal.objects.order_by("pk").values_list("kind", "fact")
