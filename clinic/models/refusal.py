"""The database refuses to change or delete what was recorded, whoever asks and by whatever door.

Triggers are put on every table of a `Fact`, of its parts and on the seals after each migration, so that a new kind of fact
is covered on the day it is made. A house test asserts that no such table is without one.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from django.apps import apps
from django.db import connections, models, transaction

from clinic.models.records import Fact, FactPart, Seal, SealShape
from clinic.rules.seal import digest

SQLITE = """CREATE TRIGGER IF NOT EXISTS "{table}_{verb}_refused" BEFORE {verb} ON "{table}"
BEGIN SELECT RAISE(ABORT, '{table}: a recorded fact is never changed or deleted'); END"""
POSTGRESQL_FUNCTION = """CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION '%: a recorded fact is never changed or deleted', TG_TABLE_NAME; END $$"""
POSTGRESQL = """CREATE OR REPLACE TRIGGER "{table}_{verb}_refused" BEFORE {verb} ON "{table}"
FOR EACH {each} EXECUTE FUNCTION refuse_change()"""


def sealed_models() -> list[type[models.Model]]:
    """Every model whose rows are recorded once and kept as they are."""
    return [model for model in apps.get_models() if issubclass(model, Fact | FactPart | Seal | SealShape)]


def install_refusals(using: str = "default", **_: Any) -> None:
    """Run after each migration. Tables that are not there yet (a partial migration) are left for the next run."""
    connection = connections[using]
    present = set(connection.introspection.table_names())
    with transaction.atomic(using), connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(POSTGRESQL_FUNCTION)
        for model in sealed_models():
            if model._meta.db_table in present:
                for statement in statements(connection.vendor, model._meta.db_table):
                    cursor.execute(statement)


@contextmanager
def deletions_allowed(of: Sequence[type[models.Model]]) -> Iterator[None]:
    """Rows of these tables may be deleted in the block, which lies in a transaction: no other ever sees them unguarded, and
    where the block fails they were never without their guard."""
    connection = connections["default"]
    tables = [model._meta.db_table for model in of]
    with connection.cursor() as cursor:
        for table in tables:
            on = "" if connection.vendor == "sqlite" else f' ON "{table}"'
            cursor.execute(f'DROP TRIGGER "{table}_DELETE_refused"{on}')
        yield
        for table in tables:
            for statement in statements(connection.vendor, table):
                cursor.execute(statement)


def shape_of(kind: type[Fact]) -> SealShape:
    """What a seal of this kind made now covers, under its digest."""
    covers = kind.seal_covers()
    return SealShape(digest=digest(covers), covers=covers)


def write_shapes(using: str = "default", **_: Any) -> None:
    """Run after each migration: what seals cover changes with the columns, and with nothing else."""
    if SealShape._meta.db_table in connections[using].introspection.table_names():
        kinds = [model for model in apps.get_models() if issubclass(model, Fact)]
        SealShape.objects.using(using).bulk_create(map(shape_of, kinds), ignore_conflicts=True)


def statements(vendor: str, table: str) -> list[str]:
    if vendor == "sqlite":
        return [SQLITE.format(table=table, verb=verb) for verb in ("UPDATE", "DELETE")]
    rows = [POSTGRESQL.format(table=table, verb=verb, each="ROW") for verb in ("UPDATE", "DELETE")]
    return [*rows, POSTGRESQL.format(table=table, verb="TRUNCATE", each="STATEMENT")]
