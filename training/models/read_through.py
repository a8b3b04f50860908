"""A table of stored rows, some of which wait to be stored anew, read as if none did.

A query set that is made with `ReadThrough` asks, whenever its statement is put together, what waits of that which it may ask
for. Where something does, the statement reads the table without the rows of these, and with those that were computed from the
facts. So a look-up, a count, an order and a question inside another question all answer the same, and none can go around it.
"""

import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from typing import Any

from django.db.models import Model
from django.db.models.sql import Query
from django.db.models.sql.datastructures import BaseTable


@dataclass(frozen=True, slots=True)
class Fresh:
    """What is read in the place of stored rows. `pairs`: (person, procedure) whose rows are left out; `rows`: the values of
    every column after the key, in the order of the table."""

    pairs: Sequence[tuple[Any, Any]]
    rows: Sequence[tuple[Any, ...]]


Asked = Callable[[type[Model], Query], Fresh | None]
_as_stored: ContextVar[bool] = ContextVar("stored rows are read as they are", default=False)
_asked: list[Asked] = []


def ask(fresh: Asked) -> None:
    """From now on this is asked what waits (`training.apps`)."""
    _asked[:] = [fresh]


@contextmanager
def as_stored() -> Iterator[None]:
    """Inside the block the table is read as it is: for whoever has asked already whether anything waits."""
    token = _as_stored.set(True)
    try:
        yield
    finally:
        _as_stored.reset(token)


class WithFresh(BaseTable):
    def as_sql(self, compiler: Any, connection: Any) -> tuple[str, Any]:
        query = compiler.query
        fresh = None if _as_stored.get() or not _asked else _asked[0](query.model, query)
        if fresh is None:
            return super().as_sql(compiler, connection)
        quote = connection.ops.quote_name
        name = quote(self.table_name)
        alias = name if self.table_alias == self.table_name else self.table_alias
        return f"({statement(query.model, name, connection)}) {alias}", values(query.model, fresh, connection)


class ReadThrough(Query):
    base_table_class = WithFresh


def statement(model: type[Model], name: str, connection: Any) -> str:
    """The stored rows that do not wait, and the others out of two lists."""
    fields = model._meta.concrete_fields
    quote, take = connection.ops.quote_name, OUT_OF[connection.vendor]
    key, *columns = (quote(field.column) for field in fields)
    pair = [take.column(place, field.db_type(connection)) for place, field in enumerate(fields[1:3])]
    row = [take.column(place, field.db_type(connection)) for place, field in enumerate(fields)]
    kept = f"SELECT {', '.join((key, *columns))} FROM {name} WHERE ({columns[0]}, {columns[1]}) NOT IN"
    return (
        f"{kept} (SELECT {', '.join(pair)} FROM {take.rows}) "
        f"UNION ALL SELECT {', '.join(f'{value} AS {column}' for value, column in zip(row, (key, *columns), strict=True))} "
        f"FROM {take.rows}"
    )


def values(model: type[Model], fresh: Fresh, connection: Any) -> list[str]:
    """Both lists as the database keeps such values. A computed row has a key that no stored one has."""
    fields = model._meta.concrete_fields[1:]

    def kept(row: tuple[Any, ...]) -> list[Any]:
        found = zip(fields, row, strict=False)
        return [field.get_db_prep_value(value, connection) for field, value in found]

    pairs = [kept(pair) for pair in fresh.pairs]
    rows = [[-number, *kept(row)] for number, row in enumerate(fresh.rows, start=1)]
    return [json.dumps(pairs, default=str), json.dumps(rows, default=str)]


@dataclass(frozen=True, slots=True)
class OutOf:
    """How a database reads rows out of a list of lists in JSON."""

    rows: str
    column: Callable[[int, str | None], str]


OUT_OF = {
    "sqlite": OutOf("json_each(%s) AS given", lambda place, kind: f"json_extract(given.value, '$[{place}]')"),
    "postgresql": OutOf(
        "jsonb_array_elements(%s::jsonb) AS given(value)", lambda place, kind: f"(given.value->>{place})::{kind}"
    ),
}
