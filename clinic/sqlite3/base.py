"""Reading a day out of its text, and writing a statement with the marks that SQLite takes, cost more than SQLite itself does.

The same few days, instants and statements come again and again, so each is read or written once, and remembered as long as
there is room. What is remembered never changes: a text, a day, a time, an instant.
"""

from datetime import date, datetime, time
from functools import lru_cache
from sqlite3 import register_converter
from typing import Any

from django.db.backends.sqlite3 import base
from django.utils.dateparse import parse_date, parse_datetime, parse_time

DAYS, TIMES, INSTANTS, STATEMENTS = 8192, 4096, 16384, 2048


@lru_cache(maxsize=DAYS)
def day_read(given: bytes) -> date | None:
    return parse_date(given.decode())


@lru_cache(maxsize=INSTANTS)
def instant_read(given: bytes) -> datetime | None:
    return parse_datetime(given.decode())


@lru_cache(maxsize=TIMES)
def time_read(given: bytes) -> time | None:
    return parse_time(given.decode())


register_converter("date", day_read)
register_converter("time", time_read)
register_converter("datetime", instant_read)
register_converter("timestamp", instant_read)


@lru_cache(maxsize=STATEMENTS)
def with_marks(statement: str) -> str:
    return base.FORMAT_QMARK_REGEX.sub("?", statement).replace("%%", "%")


class Cursor(base.SQLiteCursorWrapper):
    def convert_query(self, query: str, *, param_names: list[str] | None = None) -> Any:
        return with_marks(query) if param_names is None else super().convert_query(query, param_names=param_names)


class DatabaseWrapper(base.DatabaseWrapper):
    def create_cursor(self, name: str | None = None) -> Any:
        return self.connection.cursor(factory=Cursor)
