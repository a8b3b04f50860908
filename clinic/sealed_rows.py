"""What facts say now, digested straight from their rows: for the check of a whole record.

Most facts are what was sealed. To find that, no row has to become an instance, whose every value is converted and then
written out again: the bytes that are sealed are put together from the values as the database gives them. A value that is not
stored as it should be equals nothing that was sealed. What is not found equal here is read with care by `clinic.seals`, which
says what is wrong with it.
"""

import json
import re
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from decimal import Decimal
from functools import cache, lru_cache
from json.encoder import encode_basestring
from typing import Any
from uuid import UUID

from django.db import connection
from django.db.models import QuerySet
from django.db.models.expressions import Col

from clinic.models import Fact, Seal
from clinic.models.records import columns_of, plain
from clinic.prepared import Prepared
from clinic.rules.seal import EXACT, canonical, sha256_hex, written

SHORT = 200  # letters: JSON that comes again in thousands of facts
DIGITS = len(str(EXACT))
UNREAD = "?"  # no JSON: what holds it equals nothing that was sealed
# Letters of two code units: names in which they stand sort in another way than the C writer of JSON sorts (RFC 8785, 3.2.3).
STRANGE = re.compile(r"\\u[dD][89a-fA-F]|[\U00010000-\U0010ffff]")
Write = Callable[[Any], str]


@dataclass(frozen=True, slots=True)
class SaidNow:
    """Where a fact stands, what it corrects, when it was recorded and the digest of what it says, as its seal has them."""

    site: str
    corrects: str | None
    recorded_at: str | None
    content: str


@dataclass(frozen=True, slots=True)
class Stretch:
    """Seals of one site, kind and shape, at some places of its chain."""

    site: int
    kind: str
    shape: str
    first: int
    last: int

    @property
    def keys(self) -> dict[str, list[Any]]:
        return {name: [getattr(self, name)] for name in ("site", "kind", "shape", "first", "last")}


def sealed(site: Any, kind: Any, shape: Any, first: Any, last: Any) -> QuerySet[Any, Any]:
    """The facts that the seals of a stretch name."""
    rows = Seal.objects.filter(site__in=site, kind__in=kind, shape__in=shape, position__range=(first[0], last[0]))
    return rows.values("fact")


@cache
def asked(model: Any, column: str) -> Prepared:
    """Rows of the table that are, or belong to, the facts of a stretch."""
    return Prepared(
        lambda **keys: (
            model._default_manager
            .filter(**{f"{column}__in": sealed(**keys)})
            .order_by()
            .values_list(*columns_of(model))
        )
    )  # fmt: skip


def said_now(model: type[Fact], covers: dict[str, Any], wanted: Stretch) -> dict[str, SaidNow]:
    """Of each fact of the kind that the stretch names, by its key, what a seal of that shape covers. One that says something
    beyond the shape is left out. A query, and one more for each kind of row that belongs to the facts."""
    table, found = Table.of(model, covers["fields"], [*covers["children"]]), dict[str, SaidNow]()
    if table is None or not {*covers["children"]} <= {*model.sealed_children}:
        return found
    parts = {name: parts_of(model, name, covers["children"].get(name), wanted) for name in model.sealed_children}
    for row in asked(model, "pk").raw(**wanted.keys):
        said = table.said(row)
        key = said["id"]
        said |= {name: part.get(key, NO_ROWS) for name, part in parts.items()}
        beyond = any(said[name] != NO_ROWS for name in parts if name not in covers["children"])
        if not beyond and table.holds(said):
            content = sha256_hex((table.text % said).encode())
            found[key[1:-1]] = SaidNow(said["site_id"], bare(said["corrects"]), bare(said["recorded_at"]), content)
    return found


NO_ROWS = "[]"


@dataclass(frozen=True, slots=True)
class Table:
    """How rows of one table are written. `names`: its columns; `text`: what a seal covers of them, and of what belongs to
    them; `later`: what each column that came later holds where nobody filled it in."""

    names: tuple[str, ...]
    writers: tuple[Write, ...]
    text: str
    later: dict[str, str]

    @classmethod
    def of(cls, model: Any, fields: list[str], children: list[str]) -> "Table | None":
        """None where a column that was sealed is no more."""
        columns = {field.attname: field for field in model._meta.concrete_fields}
        if not {*fields} <= {*columns}:
            return None
        return cls(
            names=columns_of(model),
            writers=tuple(writer(columns[name]) for name in columns_of(model)),
            text="{" + ",".join(f'"{name}":%({name})s' for name in sorted([*fields, *children])) + "}",
            later={name: written(plain(columns[name].get_default())) for name in columns if name not in fields},
        )

    def said(self, row: tuple[Any, ...]) -> dict[str, str]:
        return {name: write(value) for name, write, value in zip(self.names, self.writers, row, strict=True)}

    def holds(self, said: dict[str, str]) -> bool:
        """Whether nothing is said beyond what is covered."""
        return all(said[name] == nothing for name, nothing in self.later.items())


def parts_of(model: Any, name: str, fields: list[str] | None, wanted: Stretch) -> dict[str, str]:
    """What belongs to each of the facts, by the key of the fact as it is written: its rows in the order of their keys.
    `fields`: those that are covered; None where no such row is."""
    relation = model._meta.get_field(name)
    part, owner = relation.related_model, relation.field.attname
    pk = columns_of(part).index(part._meta.pk.attname)
    table = Table.of(part, list(columns_of(part)) if fields is None else fields, [])
    rows: dict[str, list[tuple[Any, str]]] = defaultdict(list)
    for row in asked(part, owner).raw(**wanted.keys):
        said = table.said(row) if table else {}
        rows[said.get(owner, "")].append((row[pk], table.text % said if table and table.holds(said) else UNREAD))
    return {key: f"[{','.join([text for _, text in sorted(mine)])}]" for key, mine in rows.items()}


def writer(field: Any) -> Write:
    kind = str((field.target_field if field.is_relation else field).get_internal_type())
    if field.attname in getattr(field.model, "by_digest", ()):
        return {"BinaryField": of_bytes, "JSONField": of_long_json}.get(kind, unread)
    if kind == "DecimalField":
        return of_decimal(field)
    return WRITERS.get(kind, unread)


def bare(said: str) -> str | None:
    return None if said == "null" else said[1:-1]


def unread(value: Any) -> str:
    return "null" if value is None else UNREAD


def of_words(value: Any) -> str:
    return encode_basestring(value) if type(value) is str else unread(value)


def of_key(value: Any) -> str:
    """SQLite holds the digits, PostgreSQL a type of its own."""
    if type(value) is str and len(value) == 32:
        return f'"{value[:8]}-{value[8:12]}-{value[12:16]}-{value[16:20]}-{value[20:]}"'
    return f'"{value}"' if type(value) is UUID else unread(value)


def of_number(value: Any) -> str:
    return str(value) if type(value) is int and -EXACT <= value <= EXACT else unread(value)


def of_answer(value: Any) -> str:
    return "true" if value in (1, True) else "false" if value in (0, False) else unread(value)


def of_day_or_time(value: Any) -> str:
    return f'"{value.isoformat()}"' if type(value) in (date, time) else unread(value)


def of_instant(value: Any) -> str:
    """SQLite holds it in UTC, and does not say so."""
    if type(value) is not datetime:
        return unread(value)
    return f'"{value.isoformat()}+00:00"' if value.tzinfo is None else f'"{value.astimezone(UTC).isoformat()}"'


def of_json(value: Any) -> str:
    if type(value) is not str:
        return unread(value)
    return short_json(value) if len(value) <= SHORT else canonical_json(value)


def of_decimal(column: Any) -> Write:
    """As the database's own converters read it: with the places of the column."""
    expression = Col("", column)
    converters = connection.ops.get_db_converters(expression)

    def write(value: Any) -> str:
        if type(value) not in (int, float, Decimal):
            return unread(value)
        for convert in converters:
            value = convert(value, expression, connection)
        return encode_basestring(plain(value))

    return write


def of_bytes(value: Any) -> str:
    """By their digest. SQLite gives bytes, PostgreSQL a view of them."""
    return f'"{sha256_hex(bytes(value))}"' if isinstance(value, bytes | memoryview) else unread(value)


def of_long_json(value: Any) -> str:
    """By its digest."""
    return f'"{sha256_hex(canonical_json(value).encode())}"' if type(value) is str else unread(value)


def canonical_json(text: str) -> str:
    """What is stored as JSON, as it is sealed; unread where it cannot be sealed."""
    try:
        if STRANGE.search(text) is None:
            return PLAIN.encode(json.loads(text, parse_float=odd, parse_constant=odd, parse_int=whole))
    except OddNumber:
        pass  # the library says how it is spelt, or that it cannot be sealed
    try:
        return canonical(json.loads(text)).decode()
    except ValueError:
        return UNREAD


short_json = lru_cache(maxsize=4096)(canonical_json)  # none, one mark, the usual words: the same in thousands of facts
PLAIN = json.JSONEncoder(ensure_ascii=False, sort_keys=True, separators=(",", ":"))


class OddNumber(Exception):
    """One that the C writer may spell otherwise: a fraction, or more digits than every reader holds exactly."""


def odd(said: str) -> Any:
    raise OddNumber(said)


def whole(said: str) -> int:
    return int(said) if len(said) < DIGITS else odd(said)


WRITERS: dict[str, Write] = {
    "CharField": of_words,
    "TextField": of_words,
    "UUIDField": of_key,
    "BigAutoField": of_number,
    "IntegerField": of_number,
    "PositiveIntegerField": of_number,
    "PositiveSmallIntegerField": of_number,
    "BooleanField": of_answer,
    "DateField": of_day_or_time,
    "TimeField": of_day_or_time,
    "DateTimeField": of_instant,
    "JSONField": of_json,
}
