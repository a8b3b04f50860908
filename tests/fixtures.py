"""Fixtures that need the register's models."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.db import connection, transaction
from django.test import Client

from clinic.factors import MUST_ADD_BY
from clinic.lock import LAST_SEEN, SIGNED_IN
from clinic.models.refusal import sealed_models
from tests import reference_watch  # noqa: F401 - watches every connection from now on
from tests.cast import Cast, Member, enter_practice
from tests.sent_twice import SentTwice


def lift_refusals() -> None:
    """Let facts be changed and deleted. Any flush or migration puts the refusals back."""
    with connection.cursor() as cursor:
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
    """`signed_in(member)` is a client with that member’s session, which sends twice whatever records something. The session's
    clocks start with its first request, on whatever day the test lets that be, and no second factor is asked of it: tests
    of that sign in by the page."""

    def client_of(member: Member) -> Client:
        client = SentTwice()
        client.force_login(member.account, backend="clinic.accounts.AtWork")
        session = client.session
        del session[SIGNED_IN], session[LAST_SEEN]
        session.pop(MUST_ADD_BY, None)
        session.save()
        return client

    return client_of
