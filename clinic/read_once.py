"""Rows for one paper, which names the same few people, units and versions thousands of times.

A query set reads with each list anew whom and what its rows name, and converts every value of every row by itself. Here what
is named is read once, whoever names it, and values column by column, each that comes again once.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from typing import Any, TypeVar

from django.db import connection
from django.db.models import Model, QuerySet

from clinic.prepared import NoAnswer, Statement

M = TypeVar("M", bound=Model)


class ReadOnce:
    """What was read so far for the paper, by model and key."""

    def __init__(self, *at_hand: Model) -> None:
        self.known: dict[type[Model], dict[Any, Model]] = defaultdict(dict)
        for row in at_hand:
            self.known[type(row)][row.pk] = row

    def rows(self, asked: QuerySet[M], *names: str, without: Collection[str] = ()) -> list[M]:
        """The rows of the question, in its order, with all that these foreign keys name (a dunder leads on). `without`: columns
        at which nobody looks."""
        return self.with_named(read(asked, without), *names)

    def with_named(self, rows: Sequence[M], *names: str) -> list[M]:
        for name in names:
            here: Iterable[Model] = rows
            for part in name.split("__"):
                here = self.named(here, part)
        return [*rows]

    def keyed(self, model: type[M], keys: Collection[Any], *names: str) -> dict[Any, M]:
        """The rows of these keys by key, with what they name."""
        known: dict[Any, Any] = self.known[model]
        if missing := {*keys} - known.keys():
            known |= model._default_manager.in_bulk(missing)
        self.with_named([known[key] for key in keys], *names)
        return {key: known[key] for key in keys}

    def named(self, rows: Iterable[Model], name: str) -> Collection[Model]:
        """What the foreign key of the rows names, each once; the rows have it at hand from now on. One query at most."""
        given = [*rows]
        if not given:
            return ()
        field: Any = given[0]._meta.get_field(name)
        keys = [getattr(row, field.attname) for row in given]
        found = self.keyed(field.related_model, {*keys} - {None})
        for row, key in zip(given, keys, strict=True):
            field.set_cached_value(row, found.get(key))
        return found.values()


def read(asked: QuerySet[M], without: Collection[str] = ()) -> list[M]:
    """The rows themselves, without what the query set would read beside them."""
    names = [field.attname for field in asked.model._meta.concrete_fields if field.attname not in without]
    try:
        rows = Statement.of(lambda: asked.values_list(*names), {}).told([])
    except NoAnswer:
        return []
    return [asked.model.from_db(connection.alias, names, row) for row in rows]
