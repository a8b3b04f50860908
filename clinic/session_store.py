"""Sessions in the database, as Django keeps them; while it takes nothing, what changes in one is kept in memory.

So whoever is signed in goes on reading where the disk is full or read-only, and whoever signs out is out. Signing in needs
the database: guesses must be counted.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.contrib.sessions.backends.base import UpdateError
from django.contrib.sessions.backends.db import SessionStore as InDatabase
from django.db import DatabaseError, connection

from clinic.cannot_write import why

UNWRITTEN: dict[str, dict[str, Any]] = {}
"""What sessions hold by now that could not be written, by key. A row that is gone takes it away."""
ENDED: set[str] = set()
"""Sessions that were ended, and whose rows could not be taken away yet."""
PATIENCE = 250  # milliseconds that a page waits to note that it was looked at


@contextmanager
def briefly() -> Iterator[None]:
    """A page does not wait long for whoever holds the lock of SQLite. PostgreSQL locks rows, and nobody holds a session's."""
    if connection.vendor != "sqlite":
        yield
        return
    with connection.cursor() as cursor:
        patience = cursor.execute("PRAGMA busy_timeout").fetchone()[0]
        cursor.execute(f"PRAGMA busy_timeout = {PATIENCE}")
    try:
        yield
    finally:
        with connection.cursor() as cursor:
            cursor.execute(f"PRAGMA busy_timeout = {patience}")


class SessionStore(InDatabase):
    @classmethod
    def get_model_class(cls) -> Any:
        return InDatabase.get_model_class()

    def load(self) -> dict[str, Any]:
        key = self.session_key
        if key in ENDED:
            self.delete(key)
            self._session_key = None  # type: ignore[assignment]
            return {}
        stored = super().load()
        if self.session_key is None:
            UNWRITTEN.pop(key, None)  # type: ignore[arg-type]
        return UNWRITTEN.get(key, stored) if stored else stored  # type: ignore[arg-type]

    def save(self, must_create: bool = False) -> None:
        if must_create or self.session_key is None:
            super().save(must_create)
            return
        try:
            with briefly():
                super().save()
        except UpdateError as wrong:  # what Django makes of any fault of the database here
            if not why(wrong.__context__):
                raise
            UNWRITTEN[self.session_key] = dict(self._session)  # type: ignore[attr-defined]
        else:
            UNWRITTEN.pop(self.session_key, None)

    def delete(self, session_key: str | None = None) -> None:
        key = session_key or self.session_key
        try:
            with briefly():
                super().delete(session_key)
        except DatabaseError as wrong:
            if not why(wrong):
                raise
            ENDED.add(key)  # type: ignore[arg-type]
        else:
            ENDED.discard(key)  # type: ignore[arg-type]
        UNWRITTEN.pop(key, None)  # type: ignore[arg-type]
