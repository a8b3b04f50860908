"""Watches the statements of every test: columns that decide are written by `clinic.changes` alone, whatever wrote them in Python.

What a test writes by itself passes, as somebody's deed behind the register's back. A copy of the whole register moves rows as
they are stored.
"""

import re
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from django.db.backends.signals import connection_created

from clinic.reference import REFERENCE

ROOT = Path(__file__).parent.parent
WRITES = re.compile(r'(INSERT INTO|UPDATE|DELETE FROM) "(\w+)"(.*?)(?= WHERE |\Z)', re.DOTALL)
SETS = re.compile(r'"(\w+)" = ')
DOOR = ("clinic/changes.py", "clinic/keeping/", "tests/")
BEFORE_ANY_CHAIN = ("clinic/actions/sites.py", "clinic_organisation")


class WrittenPastTheDoor(AssertionError):
    """A row of reference data would change without a sealed change that says so."""


@cache
def deciding() -> dict[str, set[str]]:
    return {
        model._meta.db_table: {
            field.column for field in model._meta.concrete_fields if field.attname in columns.deciding
        }
        for model, columns in REFERENCE.items()
    }


def written(sql: str) -> str:
    """The table of reference data that the statement writes a deciding column of; empty for any other statement."""
    found = WRITES.match(sql)
    if not found or found[2] not in deciding():
        return ""
    touched = set(SETS.findall(found[3])) if found[1] == "UPDATE" else deciding()[found[2]]
    return found[2] if touched & deciding()[found[2]] else ""


def whose() -> str:
    """The file of this project that is nearest to the statement; empty where the test runner empties the tables."""
    frame = sys._getframe(2)
    while frame := frame.f_back:  # type: ignore[assignment]
        path = Path(frame.f_code.co_filename)
        if path.is_relative_to(ROOT) and path != Path(__file__) and ".venv" not in path.parts:
            return path.relative_to(ROOT).as_posix()
    return ""


def watch(execute: Callable[..., Any], sql: str, *more: Any) -> Any:
    if sql.startswith(("INSERT", "UPDATE", "DELETE")) and (table := written(sql)):
        file = whose()
        if file and not file.startswith(DOOR) and (file, table) != BEFORE_ANY_CHAIN:
            raise WrittenPastTheDoor(f"{file} writes {table}; rows of it are written by clinic.changes.")
    return execute(sql, *more)


def install(connection: Any, **_: Any) -> None:
    if watch not in connection.execute_wrappers:
        connection.execute_wrappers.append(watch)


connection_created.connect(install, dispatch_uid="reference data are watched")
