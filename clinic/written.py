"""Rows that are written by statements that are the same each time, as `clinic.prepared` asks them: each put together once.

What they write is what Django writes; whoever listens to a row that is saved hears of it.
"""

from collections.abc import Collection, Sequence
from functools import cache
from typing import Any

from django.db import DEFAULT_DB_ALIAS, DatabaseError, connection, connections, transaction
from django.db.models import JSONField, Model
from django.db.models.signals import post_save, pre_save
from django.db.models.sql import InsertQuery

from clinic.prepared import MOST, filled


def add_row(row: Model) -> None:
    """As `save(force_insert=True)` does."""
    model, using = type(row), connections[DEFAULT_DB_ALIAS]
    said = {"sender": model, "instance": row, "raw": False, "using": DEFAULT_DB_ALIAS, "update_fields": None}
    row._prepare_related_fields_for_save(operation_name="save")  # type: ignore[attr-defined]
    pre_save.send(**said)
    statement, fields, made = insertion(model, using.vendor)
    values = [field.get_db_prep_save(field.pre_save(row, True), using) for field in fields]
    with transaction.mark_for_rollback_on_error(DEFAULT_DB_ALIAS), using.cursor() as cursor:
        cursor.execute(statement, values)
        if made is not None:
            setattr(row, made, cursor.fetchone()[0])
    row._state.db, row._state.adding = DEFAULT_DB_ALIAS, False
    post_save.send(**said, created=True)


@cache
def insertion(model: type[Model], vendor: str) -> tuple[str, list[Any], str | None]:
    """The statement, the fields of its values in order, and the column that the database fills in, if it does."""
    meta, using = model._meta, connections[DEFAULT_DB_ALIAS]
    if meta.parents or meta.proxy:
        raise TypeError(f"{model.__name__} is not kept in one table of its own.")
    fields = [field for field in meta.local_concrete_fields if field is not meta.auto_field]
    query = InsertQuery(model)
    query.insert_values(fields, [model()], raw=True)
    compiler: Any = query.get_compiler(DEFAULT_DB_ALIAS)
    compiler.returning_fields = meta.db_returning_fields
    ((statement, values),) = compiler.as_sql()
    if len(values) != len(fields) or statement.count("%s") != len(fields) or using.vendor != vendor:
        raise TypeError(f"Not every column of {model.__name__} is written as its value.")
    return statement, fields, meta.auto_field.attname if meta.auto_field else None


def change_row(row: Model, names: Sequence[str]) -> None:
    """As `save(update_fields=names)` does, of a row that is stored."""
    model, using = type(row), connections[DEFAULT_DB_ALIAS]
    said = {
        "sender": model,
        "instance": row,
        "raw": False,
        "using": DEFAULT_DB_ALIAS,
        "update_fields": frozenset(names),
    }
    pre_save.send(**said)
    fields: list[Any] = [model._meta.get_field(name) for name in names]
    values = [field.get_db_prep_save(field.pre_save(row, False), using) for field in (*fields, key_of(model))]
    with transaction.mark_for_rollback_on_error(DEFAULT_DB_ALIAS), using.cursor() as cursor:
        cursor.execute(update(model, tuple(names)), values)
        if cursor.rowcount != 1:
            raise DatabaseError(f"No row of {model._meta.verbose_name_plural} has the key {row.pk}.")
    post_save.send(**said, created=False)


@cache
def update(model: type[Model], names: tuple[str, ...]) -> str:
    sets = ", ".join(f'"{model._meta.get_field(name).column}" = %s' for name in names)  # type: ignore[union-attr]
    return f'UPDATE "{model._meta.db_table}" SET {sets} WHERE "{key_of(model).column}" = %s'


def key_of(model: type[Model]) -> Any:
    return model._meta.pk


class Table:
    """A table whose rows are computed and no facts: they are put in and taken out by statements that are always the same, as
    Django would word them."""

    def __init__(self, model: type[Model], *names: str) -> None:
        self.fields: list[Any] = [model._meta.get_field(name) for name in names]
        quoted = [f'"{name}"' for name in (model._meta.db_table, *(field.column for field in self.fields))]
        table, key = quoted[0], f'"{key_of(model).column}"'
        self.adds = f"INSERT INTO {table} ({', '.join(quoted[1:])}) VALUES ({', '.join(['%s'] * len(names))})"
        self.takes = f"DELETE FROM {table} WHERE {key} IN "

    def put_in(self, rows: Collection[Sequence[Any]]) -> None:
        """Values in the order of the names."""
        if not rows:
            return
        columns = [
            self.as_kept(field, given) for field, given in zip(self.fields, zip(*rows, strict=True), strict=True)
        ]
        with connection.cursor() as cursor:
            cursor.executemany(self.adds, [*zip(*columns, strict=True)])

    def as_kept(self, field: Any, given: Sequence[Any]) -> Sequence[Any]:
        """In the form in which the database takes them; of what is never changed each value once."""
        if isinstance(field, JSONField):
            return [field.get_db_prep_save(value, connection) for value in given]
        known = {value: field.get_db_prep_save(value, connection) for value in {*given}}
        return [known[value] for value in given]

    def take_out(self, keys: Sequence[Any]) -> None:
        for start in range(0, len(keys), MOST // 2):
            some = filled([*keys[start : start + MOST // 2]])
            with connection.cursor() as cursor:
                cursor.execute(f"{self.takes}({', '.join(['%s'] * len(some))})", some)
