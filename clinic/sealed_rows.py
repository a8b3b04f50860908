"""What facts say now, digested straight from their rows: for the check of a whole record.

Most facts are what was sealed. To find that, no row has to become an instance, whose every value is converted and then
written out again: the bytes that are sealed are put together from the values as the database gives them, column by column,
and a value that comes again is written once. A value that is not stored as it should be equals nothing that was sealed. What
is not found equal here is read with care by `clinic.seals`, which says what is wrong with it.
"""

import json
import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import UTC, date, datetime, time
from decimal import Decimal
from functools import cache
from json.encoder import encode_basestring
from secrets import token_hex
from typing import Any, NamedTuple
from uuid import UUID

from django.db import connection, models
from django.db.models.expressions import Col
from django.db.models.functions import Cast
from msgspec import DecodeError
from msgspec.json import Decoder, Encoder

from clinic.models import Fact
from clinic.models.records import columns_of, plain
from clinic.prepared import AmongKeys, Prepared, in_json
from clinic.rules.seal import EXACT, canonical, sha256_hex, written

UNREAD = f"?{token_hex(16)}"  # no JSON, and known to nobody beforehand: what holds it equals nothing that was sealed
NO_ROWS = "[]"
DIGITS = len(str(EXACT))
Write = Callable[[Any], str]
Column = Callable[[Sequence[Any]], list[str]]
Written = dict[str, list[str]]  # the columns of some rows by name, each value as JSON


class SaidNow(NamedTuple):
    """Where a fact stands, what it corrects, when it was recorded and the digest of what it says, as its seal has them: each
    written as JSON."""

    site: str
    corrects: str
    recorded_at: str
    content: str


@cache
def asked(model: Any, column: str) -> Prepared:
    """Rows of the table whose column holds one of the keys."""
    return Prepared(
        lambda keys: model._default_manager.filter(AmongKeys(column, keys[0])).order_by().values_list(*as_stored(model))
    )


def as_stored(model: Any) -> list[Any]:
    """The columns of `columns_of`. SQLite keeps days and times as text, and only on being asked gives them so."""
    if connection.vendor != "sqlite":
        return [*columns_of(model)]
    return [
        Cast(name, models.TextField()) if isinstance(model._meta.get_field(name), KEPT_AS_TEXT) else name
        for name in columns_of(model)
    ]


KEPT_AS_TEXT = (models.DateField, models.TimeField)  # an instant is a kind of day


def said_now(model: type[Fact], covers: dict[str, Any], keys: Iterable[Any]) -> dict[str, SaidNow]:
    """Of each fact of the kind that has one of these keys, by its key as JSON: what a seal of that shape covers. What says
    something beyond the shape equals nothing that was sealed. A query, and one more for each kind of row that belongs to the
    facts."""
    wanted = in_json(keys)
    rows = asked(model, "pk").raw(keys=[wanted])
    if not rows or not {*covers["children"]} <= {*model.sealed_children}:
        return {}
    said = as_written(model, rows)
    for name in model.sealed_children:
        said[name] = parts_of(model, name, covers["children"].get(name), wanted, said["id"])
    beyond = {name: NO_ROWS for name in model.sealed_children if name not in covers["children"]}
    texts = covered(model, said, [*covers["fields"], *covers["children"]], beyond)
    contents = (f'"{sha256_hex(text.encode())}"' for text in texts)
    now = map(SaidNow, said["site_id"], said["corrects"], said["recorded_at"], contents)
    return dict(zip(said["id"], now, strict=True))


def as_written(model: Any, rows: Sequence[tuple[Any, ...]]) -> Written:
    """Rows of the table, with the values of `columns_of` as the database gives them, column by column as JSON."""
    columns = zip(columns_of(model), writers(model), zip(*rows, strict=True), strict=True)
    return {name: write(values) for name, write, values in columns}


def covered(model: Any, said: Written, names: Iterable[str], beyond: Mapping[str, str]) -> list[str]:
    """What a seal covers of each row, by the names of the columns, as canonical JSON. Unread where the row says something in a
    column that came later, or in one of `beyond`, or where a column that was sealed is no more."""
    wanted = sorted(names)
    if not {*wanted} <= {*said}:
        return [UNREAD] * len(next(iter(said.values())))
    text = "{" + ",".join(f'"{name}":%s' for name in wanted) + "}"
    found = [text % row for row in zip(*(said[name] for name in wanted), strict=True)]
    for name, nothing in {**beyond, **left_empty(model, wanted)}.items():
        found = [each if now == nothing else UNREAD for each, now in zip(found, said[name], strict=True)]
    return found


def left_empty(model: Any, names: Sequence[str]) -> dict[str, str]:
    """What each further column holds where nobody filled it in."""
    later = [field for field in model._meta.concrete_fields if field.attname not in names]
    return {field.attname: written(plain(field.get_default())) for field in later}


def parts_of(model: Any, name: str, fields: Sequence[str] | None, wanted: str, owners: Sequence[str]) -> list[str]:
    """What belongs to each of the facts: its rows in the order of their keys. `fields`: those that are covered; None where no
    such row is."""
    relation = model._meta.get_field(name)
    part, owner = relation.related_model, relation.field.attname
    rows = asked(part, owner).raw(keys=[wanted])
    if not rows:
        return [NO_ROWS] * len(owners)
    said, place = as_written(part, rows), columns_of(part).index(part._meta.pk.attname)
    texts = covered(part, said, columns_of(part) if fields is None else fields, {})
    found: dict[str, list[tuple[Any, str]]] = defaultdict(list)
    for row, key, text in zip(rows, said[owner], texts, strict=True):
        found[key].append((row[place], text))
    return [f"[{','.join([text for _, text in sorted(found[key])])}]" if key in found else NO_ROWS for key in owners]


@cache
def writers(model: Any) -> tuple[Column, ...]:
    columns = {field.attname: field for field in model._meta.concrete_fields}
    return tuple(writer(columns[name]) for name in columns_of(model))


def writer(field: Any) -> Column:
    kind = str((field.target_field if field.is_relation else field).get_internal_type())
    if field.attname in getattr(field.model, "by_digest", ()):
        return {"BinaryField": each(of_bytes), "JSONField": once(of_long_json)}.get(kind, each(unread))
    if kind == "DecimalField":
        return each(of_decimal(field))
    return WRITERS.get(kind, each(unread))


def each(write: Write) -> Column:
    return lambda values: [write(value) for value in values]


def once(write: Write) -> Column:
    """For values of which those that are equal are written the same: most columns hold the same few again and again."""

    def column(values: Sequence[Any]) -> list[str]:
        known = {value: write(value) for value in {*values}}
        return [known[value] for value in values]

    return column


def words(values: Sequence[Any]) -> list[str]:
    try:
        return [*map(encode_basestring, values)]  # as almost always: all are texts
    except TypeError:
        return [of_words(value) for value in values]


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
    """SQLite holds its text."""
    if type(value) is str:
        return encode_basestring(value)
    return f'"{value.isoformat()}"' if type(value) in (date, time) else unread(value)


def of_instant(value: Any) -> str:
    """SQLite holds its text, in UTC, and does not say so."""
    if type(value) is str:
        return encode_basestring(f"{value.replace(' ', 'T', 1)}+00:00")
    return f'"{value.astimezone(UTC).isoformat()}"' if type(value) is datetime and value.tzinfo else unread(value)


def of_json(value: Any) -> str:
    return canonical_json(value) if type(value) is str else unread(value)


def of_decimal(column: Any) -> Write:
    """As the database's own converters read it: with the places of the column."""
    expression = Col("", column)

    def write(value: Any) -> str:
        if type(value) not in (int, float, Decimal):
            return unread(value)
        for convert in connection.ops.get_db_converters(expression):
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
        if is_usual(text):
            return ENCODER.encode(DECODER.decode(text)).decode()
    except (OddNumber, DecodeError):
        pass  # the library says how it is spelt, or that it cannot be sealed
    try:
        return canonical(json.loads(text)).decode()
    except ValueError:
        return UNREAD


class OddNumber(Exception):
    """A fraction, which the usual writer may spell otherwise."""


def odd(said: str) -> Any:
    raise OddNumber(said)


def is_usual(text: str) -> bool:
    """Whether the usual writer of JSON writes it as RFC 8785 asks, but for fractions: no letter of two code units, as names of
    them sort in another way (3.2.3), and no number of more digits than every reader holds exactly."""
    if not text.isascii() and len(text.encode("utf-16-le", "replace")) != 2 * len(text):
        return False
    return STRANGE.search(text) is None and MANY_DIGITS not in text.encode(errors="replace").translate(AS_NOUGHTS)


STRANGE = re.compile(r"\\u[dD][89a-fA-F]")  # half of a letter of two code units
AS_NOUGHTS = bytes.maketrans(b"123456789", b"000000000")
MANY_DIGITS = b"0" * DIGITS
DECODER, ENCODER = Decoder(float_hook=odd), Encoder(order="sorted")

WRITERS: dict[str, Column] = {
    "CharField": words,
    "TextField": words,
    "UUIDField": once(of_key),
    "BigAutoField": each(of_number),
    "IntegerField": each(of_number),
    "PositiveBigIntegerField": each(of_number),
    "PositiveIntegerField": each(of_number),
    "PositiveSmallIntegerField": each(of_number),
    "BooleanField": once(of_answer),
    "DateField": once(of_day_or_time),
    "TimeField": once(of_day_or_time),
    "DateTimeField": each(of_instant),
    "JSONField": once(of_json),
}
