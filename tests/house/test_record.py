"""The database itself refuses to change or delete what was recorded, on whichever engine the run uses."""

import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, time
from decimal import Decimal
from typing import Any

import pytest
from django.db import DatabaseError, connection, models, transaction

from clinic.models import Fact, FactPart, Seal
from clinic.models.refusal import sealed_models

SEALED = sealed_models()
# The kinds known when this number was last looked at: a walk over fewer has lost some.
KINDS_OF_SEALED_TABLE = 36
STAND_INS: dict[str, Any] = {
    "BigAutoField": 1,
    "BinaryField": b"x",
    "BooleanField": True,
    "CharField": "x",
    "DateField": date(2025, 1, 6),
    "DateTimeField": datetime(2025, 1, 6, tzinfo=UTC),
    "DecimalField": Decimal("1"),
    "IntegerField": 1,
    "JSONField": [],
    "PositiveBigIntegerField": 1,
    "PositiveIntegerField": 1,
    "PositiveSmallIntegerField": 1,
    "TextField": "x",
    "TimeField": time(9),
    "UUIDField": uuid.UUID(int=1),
}

pytestmark = pytest.mark.django_db


def stand_in(field: Any) -> Any:
    return STAND_INS[getattr(field, "target_field", field).get_internal_type()]


@contextmanager
def a_row_of(model: type[models.Model]) -> Iterator[models.QuerySet[Any]]:
    """A row in the model's table, whatever its columns say: refusals work by row, so there has to be one. Foreign keys
    are checked at the end of a transaction, and this one is taken back before."""
    with without_checks(model._meta.db_table), transaction.atomic():
        row = model(**{field.attname: stand_in(field) for field in model._meta.concrete_fields})
        model._base_manager.bulk_create([row])
        yield model._base_manager.filter(pk=row.pk)
        transaction.set_rollback(True)


@contextmanager
def without_checks(table: str) -> Iterator[None]:
    """Row constraints laid aside for the block (on PostgreSQL they come back with the test)."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("PRAGMA ignore_check_constraints = ON")
        else:
            cursor.execute("SELECT conname FROM pg_constraint WHERE contype = 'c' AND conrelid = %s::regclass", [table])
            for (name,) in cursor.fetchall():
                cursor.execute(f'ALTER TABLE "{table}" DROP CONSTRAINT "{name}"')
        try:
            yield
        finally:
            if connection.vendor == "sqlite":
                cursor.execute("PRAGMA ignore_check_constraints = OFF")


def test_the_walk_over_sealed_tables_saw_every_kind() -> None:
    assert len(SEALED) >= KINDS_OF_SEALED_TABLE
    assert Seal in SEALED
    assert {Fact, FactPart} == {base for model in SEALED for base in model.__mro__ if base in (Fact, FactPart)}


@pytest.mark.parametrize("model", SEALED, ids=lambda model: model._meta.label)
def test_the_database_refuses_to_change_a_recorded_row(model: type[models.Model]) -> None:
    column = model._meta.concrete_fields[-1]
    with a_row_of(model) as row, pytest.raises(DatabaseError, match="never changed or deleted"), transaction.atomic():
        row.update(**{column.attname: stand_in(column)})


@pytest.mark.parametrize("model", SEALED, ids=lambda model: model._meta.label)
def test_the_database_refuses_to_delete_a_recorded_row(model: type[models.Model]) -> None:
    with a_row_of(model) as row, pytest.raises(DatabaseError, match="never changed or deleted"), transaction.atomic():
        row._raw_delete(row.db)


@pytest.mark.skipif(connection.vendor == "sqlite", reason="SQLite knows no TRUNCATE")
def test_the_database_refuses_to_empty_any_table_of_the_record() -> None:
    for model in SEALED:
        with pytest.raises(DatabaseError, match="never changed or deleted"), transaction.atomic():
            connection.cursor().execute(f'TRUNCATE "{model._meta.db_table}" CASCADE')
