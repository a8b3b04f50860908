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
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import lru_cache
from threading import local
from typing import Any, Generic, TypeVar
from uuid import UUID

from django.core.exceptions import EmptyResultSet
from django.db import DEFAULT_DB_ALIAS, connection, connections
from django.db.models import BooleanField, F, Func, JSONField, Model, QuerySet, TextField, Value
from django.db.models.base import ModelState
from django.db.models.query import ModelIterable
from django.utils.dateparse import parse_datetime
from django.utils.timezone import is_aware, make_aware

M = TypeVar("M", bound=Model)
R = TypeVar("R")
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

    def __init__(self, query: Callable[..., QuerySet[Any, Any]], **places: int) -> None:
        """`places`: of a list, the column of the answer that it narrows, where each row is there for one of its keys. What was
        remembered for more keys then answers for fewer."""
        self.query, self.places = query, places

    def rows(self, known_by: datetime | None = None, **lists: Keys) -> Iterator[Any]:
        if any(given is not None and not given for given in lists.values()):
            return iter(())
        keys = self.usual(known_by, lists)
        if keys is None:
            return iter(self.query(**({} if known_by is None else {"known_by": known_by}), **lists))
        kept = _remembered.get()
        if kept is not None and self.places and (known := kept.among_more(self, keys)) is not None:
            return known
        statement, given = self.statement(keys), [key for given in keys.values() for key in given or ()]
        rows = statement.told(given) if kept is None else kept.answer(self, statement, keys, given)
        return self.made(statement, rows)

    def listed(self, **lists: Keys) -> list[tuple[Any, ...]]:
        """The same, and where it is remembered the same list again, which nobody changes."""
        rows = self.rows(None, **lists)
        return rows.kept if isinstance(rows, Known) else list(rows)

    def told(self, statement: "Statement", given: list[Any]) -> list[tuple[Any, ...]]:
        """What the database answers."""
        return list(statement.told(given))

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
        kinds = [None if given is None else (len(given), type(given[0])) for given in keys.values()]
        shape = (self, connections[DEFAULT_DB_ALIAS], *keys, *kinds)
        if shape not in _here.made:
            _here.made[shape] = Statement.of(self.query, keys)
        return _here.made[shape]


class Newest(Generic[T]):
    """What was made of the newest answers to a few questions, taken up again while the database answers with the same rows."""

    def __init__(self) -> None:
        self.kept: OrderedDict[tuple[Any, ...], tuple[list[tuple[Any, ...]], T]] = OrderedDict()

    def made(self, question: tuple[Any, ...], rows: list[tuple[Any, ...]], make: Callable[[], T]) -> T:
        known = self.kept.pop(question, None)
        if known is None or known[0] != rows:
            known = rows, make()
        self.kept[question] = known
        while len(self.kept) > KEPT:
            self.kept.popitem(last=False)
        return known[1]


class Still(Prepared):
    """One whose answer is the same from one write to the next, as of procedures, versions and grants. Inside `remembered` it is
    asked each time, and read only where it is another one: the rows are shared by whoever asks, and nobody changes them."""

    def __init__(self, query: Callable[..., QuerySet[Any, Any]], **places: int) -> None:
        super().__init__(query, **places)
        self.last: Newest[list[tuple[Any, ...]]] = Newest()

    def told(self, statement: "Statement", given: list[Any]) -> list[tuple[Any, ...]]:
        asked = statement.asked(given)
        return self.last.made((statement.text, *given), asked, lambda: list(statement.read(asked)))


class Instances(Prepared, Generic[M]):
    """The same of whole rows of one model, as its own instances, with the rows that the query set joins to them. Columns that
    it defers are read when they are asked for."""

    def __init__(self, model: type[M], query: Callable[..., QuerySet[M]]) -> None:
        self.model = model
        super().__init__(query)

    def made(self, statement: "Statement", rows: Iterator[tuple[Any, ...]]) -> Iterator[M]:
        """As Django makes them of the rows of a query set."""
        if statement.whole_rows:
            return (as_instance(self.model, statement.whole_rows, row) for row in rows)
        asked = statement.rows_of.all()
        asked._query = Answered(statement.compiler, rows)
        return iter(ModelIterable(asked))

    def all(self, known_by: datetime | None = None, **lists: Keys) -> list[M]:
        return list(self.rows(known_by, **lists))


def as_instance(model: type[M], names: list[str], row: tuple[Any, ...]) -> M:
    """What `from_db` makes of a whole row, without sending word to listeners, of whom there are none, column by column."""
    new = model.__new__(model)
    new.__dict__.update(zip(names, row, strict=True))
    new._state = ModelState()
    new._state.adding, new._state.db = False, DEFAULT_DB_ALIAS
    return new


class Made(Prepared, Generic[T]):
    """One whose rows something is made of. While the database answers with the same rows as the last time, it is what was made
    then: whoever asks shares it, and nobody changes it.

    `make` is given the rows and, by their names, the keys that were asked with."""

    def __init__(self, query: Callable[..., QuerySet[Any, Any]], make: Callable[..., T]) -> None:
        super().__init__(query)
        self.make = make
        self.last: Newest[T] = Newest()

    def of(self, known_by: datetime | None = None, **lists: Keys) -> T:
        keys = self.usual(known_by, lists)
        if keys is None or _remembered.get() is not None:
            return self.make(self.rows(known_by, **lists), **lists)
        statement, asked = self.statement(keys), [key for given in keys.values() for key in given or ()]
        rows = statement.asked(asked)
        return self.last.made((statement.text, *asked), rows, lambda: self.make(statement.read(rows), **lists))


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
    return given + given[-1:] * ((1 << (len(given) - 1).bit_length()) - len(given)) if len(given) > 1 else given


def narrower(
    places: dict[str, int], keys: dict[str, list[Any] | None], asked: dict[str, list[Any] | None]
) -> list[tuple[int, set[Any]]] | None:
    """What narrows the answer for `asked` to that for `keys`, by column; None where it does not hold it."""
    found = []
    for name, given in keys.items():
        more = asked[name]
        if given == more:
            continue
        if name not in places or given is None or (more is not None and not {*given} <= {*more}):
            return None
        found.append((places[name], {*given}))
    return found


class Known:
    """Rows that are remembered, to be gone through once."""

    def __init__(self, kept: list[tuple[Any, ...]]) -> None:
        self.kept = kept
        self.left = iter(kept)

    def __iter__(self) -> Iterator[tuple[Any, ...]]:
        return self.left

    def __next__(self) -> tuple[Any, ...]:
        return next(self.left)


class Remembered:
    """The answers of one block, by statement and its values, until a table that it names is written."""

    def __init__(self) -> None:
        self.answers: dict[str, dict[tuple[Any, ...], list[tuple[Any, ...]]]] = {}
        self.asked: dict[Prepared, list[tuple[dict[str, list[Any] | None], str, tuple[Any, ...]]]] = {}

    def answer(
        self, question: Prepared, statement: "Statement", keys: dict[str, list[Any] | None], given: list[Any]
    ) -> Iterator[tuple[Any, ...]]:
        asked = (*statement.constants, *given)
        known = self.answers.get(statement.text, {}).get(asked)
        if known is None:
            known = question.told(statement, given)
            self.answers.setdefault(statement.text, {})[asked] = known
            if question.places:
                self.asked.setdefault(question, []).append((keys, statement.text, asked))
        return Known(known)

    def among_more(self, question: Prepared, keys: dict[str, list[Any] | None]) -> Iterator[tuple[Any, ...]] | None:
        """The answer out of one that was remembered for these keys and others."""
        for asked, text, given in self.asked.get(question, ()):
            rows = self.answers.get(text, {}).get(given)
            if rows is not None and (fewer := narrower(question.places, keys, asked)) is not None:
                return iter([row for row in rows if all(row[place] in few for place, few in fewer)])
        return None

    def watch(self, execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        if not sql.startswith(READS):
            written = WRITES.match(sql)
            if written and sql.startswith("UPDATE ") and "SELECT " not in sql:
                self.forget(written[1], columns=SETS.findall(sql.partition(" WHERE ")[0]))
            else:
                self.forget(written[1] if written else "", corrects_nothing=corrects_nothing(sql, params))
        answer = execute(sql, params, many, context)
        if "UPDATE" in sql and LOCKS.search(sql):
            self.answers.clear()  # whoever held the rows before may have recorded what was asked here
        return answer

    def forget(self, table: str, *, columns: Sequence[str] = (), corrects_nothing: bool = False) -> None:
        """What was read of the table, and of these columns where only they are set; without its name, everything. A seal that
        corrects nothing leaves what stands standing."""
        for text in [*self.answers]:
            about = text.replace(CORRECTED, "") if corrects_nothing else text
            if table in about and (not columns or any(column in about for column in columns)):
                del self.answers[text]


CORRECTED = 'SELECT "clinic_seal".corrects FROM "clinic_seal" WHERE "clinic_seal".corrects IS NOT NULL'
"""What `clinic.models.records.Stands` asks of seals; it stands in most questions about facts."""


def corrects_nothing(statement: str, values: Any) -> bool:
    """Whether what is written is one seal, which names no fact that it takes away."""
    if not values or not statement.startswith('INSERT INTO "clinic_seal" '):
        return False
    columns = columns_written(statement)
    return len(values) == len(columns) and values[columns.index("corrects")] is None


@lru_cache(maxsize=8)
def columns_written(statement: str) -> list[str]:
    return re.findall(r'"(\w+)"', statement.partition("VALUES")[0])[1:]


READS = ("SELECT ", "SAVEPOINT ", "RELEASE SAVEPOINT ")
WRITES = re.compile(r'(?:INSERT INTO|UPDATE|DELETE FROM) ("\w+")')
SETS = re.compile(r'("\w+") = ')
LOCKS = re.compile(r" FOR (?:NO KEY )?UPDATE\b(?: OF [^ ]+)?(?: SKIP LOCKED)?$")
_remembered: ContextVar[Remembered | None] = ContextVar("what was asked already", default=None)


def made_of(parts: tuple[Any, ...], make: Callable[..., R]) -> R:
    """What is made of these lists (`Prepared.listed`), nothing else, and is changed by nobody: where they are remembered and still
    the same, it is not made again."""
    if _remembered.get() is None:
        return make(*parts)
    known = _made.get(make)
    if known is None or any(one is not other for one, other in zip(known[0], parts, strict=True)):
        known = _made[make] = parts, make(*parts)
    return known[1]  # type: ignore[no-any-return]


_made: dict[Any, tuple[tuple[Any, ...], Any]] = {}


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
    constants: tuple[Any, ...]  # the values that are no keys, by which two questions of the same text may differ
    rows_of: Any  # the query set
    compiler: Any
    converters: dict[int, Any]
    whole_rows: list[str]  # the names of the columns where each answer is one row of a table and nothing else

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
        converters, whole = converters_of(compiler, columns), whole_rows(rows, compiler)
        at_keys = {at for at, _, _ in places}
        constants = tuple(value for at, value in enumerate(values) if at not in at_keys)
        return cls(text, tuple(values), tuple(places), constants, rows, compiler, converters, whole)

    def asked(self, keys: list[Any]) -> list[tuple[Any, ...]]:
        values = list(self.values)
        for at, key, form in self.places:
            values[at] = form(keys[key])
        with self.compiler.connection.cursor() as cursor:
            cursor.execute(self.text, values)
            return cursor.fetchall()  # type: ignore[no-any-return]

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


def whole_rows(rows: Any, compiler: Any) -> list[str]:
    """The names of the columns of the query set’s own model, where it asks for all of them, in order, and for nothing else."""
    names = [field.attname for field in rows.model._meta.concrete_fields]
    asked = [getattr(getattr(column, "target", None), "attname", "") for column, *_ in compiler.select]
    plain = compiler.klass_info is not None and not compiler.klass_info.get("related_klass_infos")
    return names if plain and asked == names and not compiler.annotation_col_map else []


def converters_of(compiler: Any, columns: list[Any]) -> dict[int, Any]:
    """Those of the query set. Of keys as digits, and of instants without their zone, the same come again and again: each is read
    once."""
    found = compiler.get_converters(columns)
    ops: Any = connection.ops
    quick = {
        getattr(ops, "convert_uuidfield_value", None): key_read,
        getattr(ops, "convert_datetimefield_value", None): instant_read,
    }
    return {
        at: ([quick.get(each, each) for each in converters], expression)
        for at, (converters, expression) in found.items()
    }


def key_read(digits: str | None, *_: Any) -> UUID | None:
    return None if digits is None else key_of(digits)


key_of = lru_cache(maxsize=16384)(UUID)


def instant_read(value: Any, _: Any, using: Any) -> datetime | None:
    return None if value is None else instant_of(value, using.timezone)


@lru_cache(maxsize=16384)
def instant_of(value: Any, zone: tzinfo) -> datetime | None:
    """As Django’s SQLite reads it. By the zone and not by the connection, which nobody is to hold on to for an instant."""
    read = parse_datetime(value) if isinstance(value, str) else value
    return read if read is None or is_aware(read) else make_aware(read, zone)


def stand_in(kind: type, number: int) -> Any:
    """A key of the kind that is nobody's, to find again where it went."""
    if issubclass(kind, UUID):
        return UUID(int=(STAND_IN_NUMBER << 64) + number)
    if issubclass(kind, datetime):
        return datetime.combine(STAND_IN_DAY + timedelta(days=number), time(), UTC)
    if issubclass(kind, date):
        return STAND_IN_DAY + timedelta(days=number)
    return STAND_IN_NUMBER + number if issubclass(kind, int) else f"stand-in {STAND_IN_NUMBER + number}"
