"""Fixtures that need the register's models."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.db import connection, transaction
from django.test import Client

from clinic import clock
from clinic.models import SignedIn
from clinic.models.refusal import sealed_models
from clinic.session_store import SessionStore
from clinic.sessions import ROW
from tests import reference_watch  # noqa: F401 - watches every connection from now on
from tests.cast import Cast, Member, enter_practice
from tests.sent_twice import SentTwice


def pytest_runtest_teardown() -> None:
    """A register that a test started watches its clock; the days of later tests would be jumps of it."""
    clock.watch.started = None


def lift_refusals() -> None:
    """Let facts be changed and deleted. Any flush or migration puts the refusals back."""
    with (
        transaction.atomic(),
        connection.cursor() as cursor,
    ):  # SQLite writes its list of triggers anew after each statement
        for model in sealed_models():
            table = model._meta.db_table
            for verb in ("UPDATE", "DELETE", "TRUNCATE"):
                on = "" if connection.vendor == "sqlite" else f' ON "{table}"'
                cursor.execute(f'DROP TRIGGER IF EXISTS "{table}_{verb}_refused"{on}')


def drop_keys() -> None:
    """Let rows name what is not there, until the transaction is taken back. SQLite checks keys at its end only."""
    if connection.vendor == "sqlite":
        return
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        cursor.execute(
            "SELECT conrelid::regclass, conname FROM pg_constraint WHERE contype = 'f'"
            " AND connamespace = 'public'::regnamespace"
        )
        for table, name in cursor.fetchall():
            cursor.execute(f'ALTER TABLE {table} DROP CONSTRAINT "{name}"')


@pytest.fixture
def free_database(transactional_db: None) -> Iterator[None]:
    """A database without the wrapping transaction, for tests of concurrency: every thread sees what others committed.
    Not in a module that uses `cast`."""
    yield
    lift_refusals()


@pytest.fixture(scope="module")
def the_cast(django_db_setup: None, django_db_blocker: Any) -> Iterator[Cast]:
    """The practice of seven, entered once for a module and taken back after it."""
    with django_db_blocker.unblock(), transaction.atomic():
        practice = enter_practice()
        connection.check_constraints()
        yield practice
        transaction.set_rollback(True)


@pytest.fixture
def cast(the_cast: Cast, db: None) -> Cast:
    """The practice of seven (tests.cast). What a test adds to it is taken back after the test."""
    the_cast.refresh()
    return the_cast


@pytest.fixture
def signed_in(db: None) -> Any:
    """`signed_in(member)` is a client with that member’s session, which sends twice whatever records something. It is made
    here as signing in leaves it, but for its clocks, which start with its first request, on whatever day the test lets that
    be; no second factor is asked of it: tests of that sign in by the page."""

    def client_of(member: Member) -> Client:
        account, client, session = member.account, SentTwice(), SessionStore()
        session[SESSION_KEY], session[BACKEND_SESSION_KEY] = str(account.pk), "clinic.accounts.AtWork"
        session[HASH_SESSION_KEY] = account.get_session_auth_hash()
        row = SignedIn(account=account, began_at=clock.now())
        session[ROW] = str(row.pk)
        session.create()
        row.session_key = session.session_key
        row.save(force_insert=True)
        client.cookies[settings.SESSION_COOKIE_NAME] = session.session_key
        return client

    return client_of
