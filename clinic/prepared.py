"""Questions to the database that are the same each time but for the keys they are asked with.

Django puts a statement together anew whenever it is asked, which takes several times as long as the database needs to answer
one. What every write or every visit asks is written as a query set like any other, put together once for each number of keys, and
then only asked. The statement is the query set's own, its values are converted as the query set converts them, and it is the same
on both databases.
"""

import json
import re
from collections import OrderedDict
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from threading import local
from typing import Any, Generic, TypeVar
from uuid import UUID

from django.core.exceptions import EmptyResultSet
from django.db import connection
from django.db.models import BooleanField, F, Func, JSONField, Model, QuerySet, TextField, Value
from django.db.models.query import ModelIterable

M = TypeVar("M", bound=Model)
T = TypeVar("T")
Keys = Collection[Any] | None
KEPT = 16  # answers of one question that something is made of
MOST = 1024  # keys in one list; more are asked for as Django does it, which then takes the smaller part
STAND_IN_NUMBER = 7_000_000_000_000  # no key of a row is near it
STAND_IN_DAY = date(1500, 1, 1)


class OfThread(local):
    """Statements by thread, as connections are: whoever converts values holds on to the connection that it was made for."""

    def __init__(self) -> None:
        self.made: dict[tuple[Any, ...], Statement] = {}


_here = OfThread()


class Prepared:
    """A query set of values, written as a function of lists of keys: `rows(people=[...], codes=None)` answers what the query
    set for these lists would. None stands for a question that is not narrowed by that list.

    One that can be asked as known by an instant takes `known_by` besides; such questions are few and put together each time."""

    def __init__(self, query: Callable[..., QuerySet[Any, Any]]) -> None:
        self.query = query

    def rows(self, known_by: datetime | None = None, **lists: Keys) -> Iterator[Any]:
        if any(given is not None and not given for given in lists.values()):
            return iter(())
        keys = self.usual(known_by, lists)
        if keys is None:
            return iter(self.query(**({} if known_by is None else {"known_by": known_by}), **lists))
        statement = self.statement(keys)
        return self.made(statement, statement.answer([key for given in keys.values() for key in given or ()]))

    def usual(self, known_by: datetime | None, lists: dict[str, Keys]) -> dict[str, list[Any] | None] | None:
        """The lists as a statement for them takes their keys; None where none is put together for such."""
        if known_by is not None or any(given is not None and not 0 < len(given) <= MOST for given in lists.values()):
            return None
        return {name: None if given is None else filled(list(given)) for name, given in lists.items()}

    def made(self, statement: "Statement", rows: Iterator[tuple[Any, ...]]) -> Iterator[Any]:
        """What is made of the rows: here, the values as they are."""
        return rows

    def raw(self, **lists: list[Any]) -> list[tuple[Any, ...]]:
        """The values as the database gives them, before they are converted."""
        return self.statement(dict(lists)).asked([key for given in lists.values() for key in given])

    def statement(self, keys: dict[str, list[Any] | None]) -> "Statement":
        kinds = (None if given is None else (len(given), type(given[0])) for given in keys.values())
        shape = (self, connection.alias, connection.vendor, *keys, *kinds)
        if shape not in _here.made:
            _here.made[shape] = Statement.of(self.query, keys)
        return _here.made[shape]


class Instances(Prepared, Generic[M]):
    """The same of whole rows of one model, as its own instances, with the rows that the query set joins to them. Columns that
    it defers are read when they are asked for."""

    def __init__(self, model: type[M], query: Callable[..., QuerySet[M]]) -> None:
        self.model = model
        super().__init__(query)

    def made(self, statement: "Statement", rows: Iterator[tuple[Any, ...]]) -> Iterator[M]:
        """As Django makes them of the rows of a query set."""
        asked = statement.rows_of.all()
        asked._query = Answered(statement.compiler, rows)
        return iter(ModelIterable(asked))

    def all(self, known_by: datetime | None = None, **lists: Keys) -> list[M]:
        return list(self.rows(known_by, **lists))


class Made(Prepared, Generic[T]):
    """One whose rows something is made of. While the database answers with the same rows as the last time, it is what was made
    then: whoever asks shares it, and nobody changes it.

    `make` is given the rows and, by their names, the keys that were asked with."""

    def __init__(self, query: Callable[..., QuerySet[Any, Any]], make: Callable[..., T]) -> None:
        super().__init__(query)
        self.make = make
        self.last: OrderedDict[tuple[Any, ...], tuple[list[tuple[Any, ...]], T]] = OrderedDict()

    def of(self, known_by: datetime | None = None, **lists: Keys) -> T:
        keys = self.usual(known_by, lists)
        if keys is None or _remembered.get() is not None:
            return self.make(self.rows(known_by, **lists), **lists)
        statement, asked = self.statement(keys), [key for given in keys.values() for key in given or ()]
        rows, question = statement.asked(asked), (statement.text, *asked)
        known = self.last.pop(question, None)
        if known is None or known[0] != rows:
            known = rows, self.make(statement.read(rows), **lists)
        self.last[question] = known
        while len(self.last) > KEPT:
            self.last.popitem(last=False)
        return known[1]


class Answered:
    """For Django to make instances of rows that are there already: a query, and what would ask it."""

    def __init__(self, compiler: Any, rows: Iterator[tuple[Any, ...]]) -> None:
        self.compiler, self.rows = compiler, rows

    def get_compiler(self, using: str) -> "Answered":
        return self

    def execute_sql(self, **_: Any) -> Iterator[tuple[Any, ...]]:
        return self.rows

    def results_iter(self, rows: Iterator[tuple[Any, ...]]) -> Iterator[tuple[Any, ...]]:
        return rows

    def __getattr__(self, name: str) -> Any:
        return getattr(self.compiler, name)


class AmongKeys(Func):
    """Whether the column holds one of many keys, which are given as one value, a list in JSON: so it is the same statement for
    any number of them."""

    output_field = BooleanField()
    lists = {
        "sqlite": "SELECT value FROM json_each({})",
        "postgresql": "SELECT json_array_elements_text({}::json)::uuid",
    }

    def __init__(self, column: str, keys: str) -> None:
        super().__init__(F(column), Value(keys, TextField()))

    def as_sql(self, compiler: Any, connection: Any, *_: Any, **__: Any) -> tuple[str, Any]:
        (column, params), (keys, given) = [compiler.compile(each) for each in self.get_source_expressions()]
        return f"{column} IN ({self.lists[connection.vendor].format(keys)})", (*params, *given)


def in_json(keys: Iterable[UUID | str]) -> str:
    """Keys as `AmongKeys` takes them: by their digits, as SQLite holds them."""
    return json.dumps([str(key).replace("-", "") for key in keys])


def filled(given: list[Any]) -> list[Any]:
    """To the next power of two with the last key again, which asks for nothing more: so there are few numbers of keys."""
    return given + given[-1:] * ((1 << (len(given) - 1).bit_length()) - len(given)) if given else []


class Remembered:
    """The answers of one block, by statement and keys, until a table that it names is written."""

    def __init__(self) -> None:
        self.answers: dict[str, dict[tuple[Any, ...], list[tuple[Any, ...]]]] = {}

    def watch(self, execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        if not sql.startswith(READS):
            written = WRITES.match(sql)
            self.forget(written[1] if written else "")
        answer = execute(sql, params, many, context)
        if LOCKS.search(sql):
            self.answers.clear()  # whoever held the rows before may have recorded what was asked here
        return answer

    def forget(self, table: str) -> None:
        """What was read of the table; without its name, everything."""
        for text in [text for text in self.answers if table in text]:
            del self.answers[text]


READS = ("SELECT ", "SAVEPOINT ", "RELEASE SAVEPOINT ")
WRITES = re.compile(r'(?:INSERT INTO|UPDATE|DELETE FROM) ("\w+")')
LOCKS = re.compile(r" FOR (?:NO KEY )?UPDATE\b(?: OF [^ ]+)?$")
_remembered: ContextVar[Remembered | None] = ContextVar("what was asked already", default=None)


@contextmanager
def remembered() -> Iterator[None]:
    """Inside the block a question that was asked with the same keys is not asked again, until one of its tables is written: for
    one transaction of one fact, whose listeners ask for the same procedures, people and grants one after the other."""
    if _remembered.get() is not None:
        yield
        return
    kept = Remembered()
    token = _remembered.set(kept)
    try:
        with connection.execute_wrapper(kept.watch):
            yield
    finally:
        _remembered.reset(token)


Form = Callable[[Any], Any]


def as_it_is(key: Any) -> Any:
    return key


def as_digits(key: UUID) -> str:
    return key.hex


def as_text(key: date) -> str:
    return key.isoformat()


def as_plain_text(key: datetime) -> str:
    return str(key.astimezone(UTC).replace(tzinfo=None))


def forms_of(key: Any) -> list[Form]:
    """How a database may take such a key: SQLite has no type for some of the kinds."""
    if isinstance(key, datetime):
        return [as_it_is, as_plain_text]
    return [as_it_is, *([as_digits] if isinstance(key, UUID) else []), *([as_text] if isinstance(key, date) else [])]


class NoAnswer(ValueError):
    """A question that no row can answer, whatever is stored."""


@dataclass(frozen=True, slots=True)
class Statement:
    """What was put together: the text, its values with the places at which keys stand, and how rows are converted."""

    text: str
    values: tuple[Any, ...]
    places: tuple[tuple[int, int, Form], ...]  # in the values; which key; the form in which the database takes it
    rows_of: Any  # the query set
    compiler: Any
    converters: dict[int, Any]

    @classmethod
    def of(cls, query: Callable[..., QuerySet[Any, Any]], keys: dict[str, list[Any] | None]) -> "Statement":
        stand_ins: list[Any] = []
        asked: dict[str, list[Any] | None] = {}
        for name, given in keys.items():
            asked[name] = given and [stand_in(type(each), len(stand_ins) + place) for place, each in enumerate(given)]
            stand_ins += asked[name] or []
        rows = query(**asked)
        compiler = rows.query.get_compiler(connection.alias)
        try:
            text, values = compiler.as_sql()
        except EmptyResultSet:
            raise NoAnswer("A prepared question must be one that can have an answer.") from None
        known = {form(each): (key, form) for key, each in enumerate(stand_ins) for form in forms_of(each)}
        places = [
            (at, *known[value])
            for at, value in enumerate(values)
            if isinstance(value, str | int | UUID | date) and value in known
        ]
        if {key for _, key, _ in places} != set(range(len(stand_ins))):
            raise ValueError("A key of a prepared question is not among the values of its statement.")
        columns = [column for column, *_ in compiler.select[: compiler.col_count]]
        return cls(text, tuple(values), tuple(places), rows, compiler, converters_of(compiler, columns))

    def asked(self, keys: list[Any]) -> list[tuple[Any, ...]]:
        values = list(self.values)
        for at, key, form in self.places:
            values[at] = form(keys[key])
        with connection.cursor() as cursor:
            cursor.execute(self.text, values)
            return cursor.fetchall()  # type: ignore[no-any-return]

    def answer(self, keys: list[Any]) -> Iterator[tuple[Any, ...]]:
        kept = _remembered.get()
        if kept is None:
            return self.told(keys)
        question = tuple(keys)
        known = kept.answers.get(self.text, {}).get(question)
        if known is None:
            known = list(self.told(keys))
            kept.answers.setdefault(self.text, {})[question] = known
        return iter(known)

    def told(self, keys: list[Any]) -> Iterator[tuple[Any, ...]]:
        return self.read(self.asked(keys))

    def read(self, rows: list[tuple[Any, ...]]) -> Iterator[tuple[Any, ...]]:
        return self.converted(rows) if self.converters else iter(rows)

    def converted(self, rows: list[tuple[Any, ...]]) -> Iterator[tuple[Any, ...]]:
        """Column by column, and of what is never changed each value once: most columns hold the same few again and again."""
        columns: list[Sequence[Any]] = [*zip(*rows, strict=True)]
        for place, (converters, expression) in self.converters.items() if rows else ():
            given = columns[place]
            asked = given if isinstance(expression.output_field, JSONField) else {*given}
            found = [self.as_python(value, converters, expression) for value in asked]
            known = {} if asked is given else dict(zip(asked, found, strict=True))
            columns[place] = found if asked is given else [known[value] for value in given]
        return zip(*columns, strict=True)

    def as_python(self, value: Any, converters: Sequence[Any], expression: Any) -> Any:
        for convert in converters:
            value = convert(value, expression, self.compiler.connection)
        return value


def converters_of(compiler: Any, columns: list[Any]) -> dict[int, Any]:
    """Those of the query set. Of keys as digits, of which the same few come again and again, each is read once."""
    found = compiler.get_converters(columns)
    slow = getattr(connection.ops, "convert_uuidfield_value", None)
    return {
        at: ([key_read if each == slow else each for each in converters], expression)
        for at, (converters, expression) in found.items()
    }


def key_read(digits: str | None, *_: Any) -> UUID | None:
    return None if digits is None else key_of(digits)


key_of = lru_cache(maxsize=16384)(UUID)


def stand_in(kind: type, number: int) -> Any:
    """A key of the kind that is nobody's, to find again where it went."""
    if issubclass(kind, UUID):
        return UUID(int=(STAND_IN_NUMBER << 64) + number)
    if issubclass(kind, datetime):
        return datetime.combine(STAND_IN_DAY + timedelta(days=number), time(), UTC)
    if issubclass(kind, date):
        return STAND_IN_DAY + timedelta(days=number)
    return STAND_IN_NUMBER + number if issubclass(kind, int) else f"stand-in {STAND_IN_NUMBER + number}"
