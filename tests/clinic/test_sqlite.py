"""SQLite as it is used here reads days and instants as Django does, and writes statements as Django does."""

from datetime import date, datetime, time

import pytest
from django.db import connection
from django.db.backends.sqlite3 import base

from clinic.sqlite3.base import Cursor, day_read, instant_read, time_read, with_marks

pytestmark = pytest.mark.one_database


@pytest.mark.parametrize("given", ["2024-02-29", "0001-01-01", "9999-12-31"])
def test_a_day_is_read_as_django_reads_it(given: str) -> None:
    assert day_read(given.encode()) == base.parse_date(given) == date.fromisoformat(given)


@pytest.mark.parametrize("given", ["00:00:00", "23:59:59.999999", "08:30:00"])
def test_a_time_is_read_as_django_reads_it(given: str) -> None:
    assert time_read(given.encode()) == base.parse_time(given) == time.fromisoformat(given)


@pytest.mark.parametrize("given", ["2026-03-29 01:30:00", "2026-03-29 01:30:00.000001", "1999-12-31 23:59:59+00:00"])
def test_an_instant_is_read_as_django_reads_it(given: str) -> None:
    assert instant_read(given.encode()) == base.parse_datetime(given) == datetime.fromisoformat(given)


@pytest.mark.parametrize("given", ["no day", "2026-02-30"])
def test_what_is_no_day_is_no_day_each_time(given: str) -> None:
    found = []
    for read in (day_read, base.decoder(base.parse_date), day_read):
        try:
            found.append(read(given.encode()))
        except ValueError as problem:
            found.append(str(problem))
    assert found[0] == found[1] == found[2]


@pytest.mark.parametrize("given", ["SELECT %s", "SELECT '%%s', %s", "a LIKE '%%' AND b = %s AND c = %s", "SELECT 1"])
def test_a_statement_has_the_marks_that_django_gives_it(given: str) -> None:
    class Plain(base.SQLiteCursorWrapper):
        """Django's own."""

    plain = base.Database.connect(":memory:").cursor(factory=Plain)
    assert with_marks(given) == plain.convert_query(given) == with_marks(given)


def test_values_by_name_and_by_place_both_arrive(db: None) -> None:
    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        assert isinstance(cursor.cursor, Cursor)
        cursor.execute("SELECT %(one)s, %(two)s, '%%'", {"one": 1, "two": "two"})
        assert cursor.fetchone() == (1, "two", "%")
        cursor.execute("SELECT %s, %s, '%%'", [1, "two"])
        assert cursor.fetchone() == (1, "two", "%")
