"""The database itself into a file and back, while people work: the backup of SQLite, pg_dump and pg_restore of PostgreSQL.

Either sees the register as it was at one instant, and the heads that are signed beside it are those of that instant.
"""

import os
import shutil
import sqlite3
import subprocess
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any, TypeVar

from django.conf import settings
from django.db import connection, transaction

from clinic import env
from clinic.keeping.places import POSTGRESQL, NotKept, engine_of, register_at

T = TypeVar("T")
NAMES = {"sqlite": "register.sqlite3", "postgresql": "register.pgdump"}
# Parameters of a connection that are Django's own and not libpq's.
NOT_LIBPQ = {"cursor_factory", "context", "client_encoding", "prepare_threshold"}
TOLD = 400  # letters of what a tool said that are passed on


def dump(folder: Path, seen: Callable[[], T]) -> tuple[Path, T]:
    """The database as a file in the folder, and what `seen` finds in exactly that state of it."""
    file = folder / NAMES[connection.vendor]
    return (dump_postgresql if connection.vendor == POSTGRESQL else dump_sqlite)(file, seen)


def dump_sqlite(file: Path, seen: Callable[[], T]) -> tuple[Path, T]:
    """All pages in one step: readers and writers go on meanwhile, and the copy is of the instant it began."""
    connection.ensure_connection()
    with closing(sqlite3.connect(file)) as copy:
        connection.connection.backup(copy)
    with register_at(env.sqlite("", file)):
        with connection.cursor() as cursor:
            says = cursor.execute("PRAGMA quick_check").fetchone()[0]
        if says != "ok":
            raise NotKept(f"The copy of the database is damaged: {says}. Check the disk.")
        found = seen()
    return file, found


def dump_postgresql(file: Path, seen: Callable[[], T]) -> tuple[Path, T]:
    """pg_dump reads the very snapshot that this transaction reads."""
    with transaction.atomic(durable=True), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        cursor.execute("SELECT pg_export_snapshot()")
        (snapshot,) = cursor.fetchone()
        found = seen()
        run_tool("pg_dump", connection.settings_dict, "--format=custom", "--no-owner", "--no-privileges",
                 f"--snapshot={snapshot}", f"--file={file}")  # fmt: skip
    return file, found


def load(file: Path, database: dict[str, Any]) -> None:
    """A dump into an empty database of the same kind."""
    if engine_of(database) == POSTGRESQL:
        flags = "--exit-on-error", "--single-transaction", "--no-owner", "--no-privileges"
        run_tool("pg_restore", database, *flags, str(file))
    else:
        shutil.copyfile(file, database["NAME"])


def run_tool(name: str, database: dict[str, Any], *words: str) -> None:
    """One of PostgreSQL's own programs against that database. The password goes by the environment, not the command line."""
    program = shutil.which(name, path=settings.PG_TOOLS or None)
    if program is None:
        raise NotKept(
            f"{name} is not on this computer. Install PostgreSQL’s client programs, of the server’s version or later, or "
            "name their folder in MILLROOM_PG_TOOLS."
        )
    with register_at(database):
        known = connection.get_connection_params()
    password = known.pop("password", None)
    words_of = {key: value for key, value in known.items() if key not in NOT_LIBPQ and isinstance(value, str | int)}
    where = " ".join(f"{key}={quoted(value)}" for key, value in words_of.items())
    secret = {"PGPASSWORD": str(password)} if password else {}
    done = subprocess.run(
        [program, f"--dbname={where}", *words], env=os.environ | secret, capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise NotKept(f"{name} failed: {done.stderr.strip()[-TOLD:]}")


def quoted(value: Any) -> str:
    """As a connection string of libpq writes a value."""
    text = str(value).replace("\\", "\\\\").replace("'", "\\'")
    return f"'{text}'"
