"""Read-only, locked, full: pages go on in words, and a write says that nothing was recorded and keeps what was typed."""

import html
import re
import sqlite3
import threading
from collections.abc import Iterator
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import (
    DatabaseError,
    InternalError,
    OperationalError,
    ProgrammingError,
    connection,
    connections,
    transaction,
)
from django.test import Client

from clinic import cannot_write, clock, env, session_store
from clinic.lock import LAST_SEEN
from clinic.models import Safeguard, Site
from tests.cast import Cast, enter_practice
from tests.house.addresses import NoArgument, addresses, link

pytestmark = pytest.mark.usefixtures("free_database")
PAGE = "/millbrook-lane/audit/safeguards/"
# Pages that make a row as they are opened, which is what they are for.
RECORDS_THAT_IT_WAS_OPENED: set[str] = set()


@pytest.fixture
def practice(free_database: None) -> Iterator[Cast]:
    yield enter_practice()
    session_store.UNWRITTEN.clear()
    session_store.ENDED.clear()


@pytest.fixture
def owner(practice: Cast) -> Client:
    client = Client()
    client.force_login(practice.owner.account, backend="clinic.accounts.AtWork")
    return client


def statement(sqlite: str, postgresql: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(sqlite if connection.vendor == "sqlite" else postgresql)


@pytest.fixture
def read_only(owner: Client) -> Iterator[None]:
    statement("PRAGMA query_only = ON", "SET SESSION CHARACTERISTICS AS TRANSACTION READ ONLY")
    yield
    statement("PRAGMA query_only = OFF", "SET SESSION CHARACTERISTICS AS TRANSACTION READ WRITE")


@pytest.fixture
def locked(owner: Client) -> Iterator[None]:
    """Somebody else is in the middle of a long write, on a connection of their own."""
    holds, done = threading.Event(), threading.Event()

    def work() -> None:
        with transaction.atomic():
            list(Site.objects.select_for_update())
            holds.set()
            done.wait(60)
        connections.close_all()

    other = threading.Thread(target=work)
    other.start()
    assert holds.wait(30)
    statement("PRAGMA busy_timeout = 300", "SET lock_timeout = '300ms'")  # the few seconds, in small
    yield
    done.set()
    other.join()


@pytest.fixture
def full(owner: Client) -> Iterator[None]:
    if connection.vendor != "sqlite":
        pytest.skip("a disk of PostgreSQL cannot be filled here; its code is asked of the rule below")
    statement("VACUUM", "")
    statement("PRAGMA max_page_count = 1", "")  # not one page more than there are
    yield
    statement("PRAGMA max_page_count = 1073741823", "")


def sent(cast: Cast) -> dict[str, str]:
    given = {
        "kind": "backup",
        "on": f"{clock.today('UTC'):%-d %b %Y}",
        "good": "yes",
        "said": "a “disk” in the <safe> " * 10,
    }
    return given | {"done_by": str(cast.owner.person.pk), "submission": str(uuid4()), "password": "seven herons"}


def hidden(page: str) -> dict[str, str]:
    return {
        name: html.unescape(value) for name, value in re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', page)
    }


def until_refused(cast: Cast, client: Client) -> tuple[int, dict[str, str], Any]:
    """How many were recorded, and the first that was not with its answer: a full disk has room in its last pages."""
    for recorded in range(200):
        given = sent(cast)
        answer = client.post(PAGE, given)
        if answer.status_code != 302:
            return recorded, given, answer
    raise AssertionError("two hundred were recorded")


TROUBLES = ["read_only", "locked", "full"]


@pytest.mark.parametrize("trouble", TROUBLES)
def test_a_write_says_that_nothing_was_recorded_and_keeps_the_form(
    practice: Cast, owner: Client, trouble: str, request: pytest.FixtureRequest
) -> None:
    request.getfixturevalue(trouble)
    recorded, given, answer = until_refused(practice, owner)
    page = answer.content.decode()
    assert (answer.status_code, answer["Retry-After"]) == (503, "10")
    assert "Nothing was recorded." in page and Safeguard.objects.count() == recorded
    left = hidden(page)
    left.pop("csrfmiddlewaretoken", None)
    assert left == {name: value for name, value in given.items() if name != "password"}


def test_what_was_kept_is_recorded_once_when_it_is_sent_again(practice: Cast, owner: Client) -> None:
    given = sent(practice)
    statement("PRAGMA query_only = ON", "SET SESSION CHARACTERISTICS AS TRANSACTION READ ONLY")
    page = owner.post(PAGE, given).content.decode()
    statement("PRAGMA query_only = OFF", "SET SESSION CHARACTERISTICS AS TRANSACTION READ WRITE")
    assert re.search(rf'<form method="post" action="{PAGE}">', page)
    for _ in range(2):
        assert owner.post(PAGE, hidden(page)).status_code == 302
    assert Safeguard.objects.filter(done_by=practice.owner.person).count() == 1


def test_a_script_is_told_the_same_as_data(practice: Cast, owner: Client, read_only: None) -> None:
    answer = owner.post(PAGE, sent(practice), headers={"Accept": "application/json"})
    assert answer.status_code == 503 and answer.json()["refusals"][:2] == [
        "Nothing was recorded.",
        cannot_write.READ_ONLY,
    ]


@pytest.fixture(scope="module")
def answered_before() -> dict[str, int]:
    """The status of each address in the same practice without trouble, asked once."""
    return {}


@pytest.mark.parametrize("trouble", TROUBLES)
def test_every_page_that_opens_still_opens(
    practice: Cast, owner: Client, trouble: str, answered_before: dict[str, int], request: pytest.FixtureRequest
) -> None:
    """Of every address that the practice has rows for: what answered before answers the same now."""
    links = {address.name: found for address in addresses() if (found := link_of(address, practice))}
    before = answered_before or {name: owner.get(path).status_code for name, path in links.items()}
    answered_before.update(before)
    request.getfixturevalue(trouble)
    now = {name: owner.get(path).status_code for name, path in links.items()}
    assert now.keys() == before.keys()
    assert {"training:who_may", "training:today", "training:owner"} <= {name for name in now if now[name] == 200}
    assert {name: (before[name], now[name]) for name in now if now[name] != before[name]} == {}


def link_of(address: Any, cast: Cast) -> str:
    try:
        return "" if address.name in RECORDS_THAT_IT_WAS_OPENED else link(address, cast.lane, cast.owner.person)
    except NoArgument:
        return ""


def test_a_certificate_is_checked_by_anybody(practice: Cast, read_only: None) -> None:
    assert Client().get("/check/no-such-code/").status_code == 404  # in words, not a fault


def test_whoever_reads_on_stays_signed_in_although_no_touch_is_written(owner: Client, read_only: None) -> None:
    start = clock.now()
    for minutes in range(0, 20, 4):  # the idle lock would fall after five
        with clock.standing_at(start + timedelta(minutes=minutes)):
            assert owner.get("/millbrook-lane/today/").status_code == 200
    with clock.standing_at(start + timedelta(minutes=30)):
        assert "/unlock/" in owner.get("/millbrook-lane/today/").url  # and falls where nobody touches it


def test_whoever_signs_out_is_out(owner: Client, read_only: None) -> None:
    cookie = owner.cookies["register"].value
    owner.post("/sign-out/")
    again = Client()
    again.cookies["register"] = cookie
    assert "/sign-in/" in again.get("/millbrook-lane/today/").url


def test_a_touch_is_written_again_once_it_can_be(practice: Cast, owner: Client) -> None:
    statement("PRAGMA query_only = ON", "SET SESSION CHARACTERISTICS AS TRANSACTION READ ONLY")
    with clock.standing_at(clock.now() + timedelta(minutes=2)):
        owner.get("/millbrook-lane/today/")
    statement("PRAGMA query_only = OFF", "SET SESSION CHARACTERISTICS AS TRANSACTION READ WRITE")
    later = clock.now() + timedelta(minutes=4)
    with clock.standing_at(later):
        owner.get("/millbrook-lane/today/")
    assert session_store.UNWRITTEN == {}
    assert session_store.InDatabase(owner.cookies["register"].value)[LAST_SEEN] == later.timestamp()


def test_a_session_whose_row_is_gone_is_not_kept_alive_by_memory(owner: Client, read_only: None) -> None:
    key = owner.cookies["register"].value
    with clock.standing_at(clock.now() + timedelta(minutes=2)):
        owner.get("/millbrook-lane/today/")
    assert key in session_store.UNWRITTEN
    statement("PRAGMA query_only = OFF", "SET SESSION CHARACTERISTICS AS TRANSACTION READ WRITE")
    session_store.InDatabase.get_model_class().objects.all().delete()
    assert "/sign-in/" in owner.get("/millbrook-lane/today/").url
    assert key not in session_store.UNWRITTEN


def test_nobody_is_signed_in_while_guesses_cannot_be_counted(practice: Cast, read_only: None) -> None:
    given = {"username": practice.assistant.account.sign_in_name, "password": "seven herons over the weir"}
    answer = Client().post("/sign-in/", given)
    assert (answer.status_code, "seven herons" in answer.content.decode()) == (503, False)


def test_a_write_waits_a_few_seconds_and_not_for_ever() -> None:
    waits = env.sqlite("", env.Path("x"))["OPTIONS"]["timeout"]
    assert 3 <= waits <= 10
    assert env.postgresql("URL", "postgresql://host/name")["OPTIONS"]["options"] == f"-c lock_timeout={waits}s"


def coded(kind: type[DatabaseError], code: str | None, says: str = "") -> DatabaseError:
    wrong = kind(says)
    wrong.__cause__ = Coded(code)
    return wrong


class Coded(Exception):
    def __init__(self, sqlstate: str | None) -> None:
        self.sqlstate = sqlstate


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        # PostgreSQL 18 documentation, Appendix A, error codes (from memory)
        (coded(InternalError, "25006"), cannot_write.READ_ONLY),
        (coded(OperationalError, "55P03"), cannot_write.LOCKED),
        (coded(OperationalError, "53100"), cannot_write.FULL),
        (coded(OperationalError, "57P01"), cannot_write.SILENT),
        (coded(OperationalError, "08006"), cannot_write.SILENT),
        (coded(OperationalError, None, "connection failed: refused"), cannot_write.SILENT),
        (coded(ProgrammingError, "42P01"), ""),
        # sqlite.org, result codes SQLITE_BUSY, SQLITE_READONLY, SQLITE_FULL, SQLITE_CANTOPEN in their words (from memory)
        (OperationalError("database is locked"), cannot_write.LOCKED),
        (OperationalError("attempt to write a readonly database"), cannot_write.READ_ONLY),
        (OperationalError("database or disk is full"), cannot_write.FULL),
        (OperationalError("unable to open database file"), cannot_write.SILENT),
        (OperationalError("no such table: x"), ""),
        (ValueError("database is locked"), ""),
        (None, ""),
    ],
)
def test_only_what_the_database_cannot_take_is_said_so(wrong: Any, says: str) -> None:
    assert cannot_write.why(wrong) == says


def test_a_real_read_only_file_is_read(practice: Cast, tmp_path: Any) -> None:
    """SQLite opened as from a read-only disk, by what the register says at each start."""
    file = tmp_path / "register.sqlite3"
    made = env.sqlite("", file)["OPTIONS"]["init_command"]
    first = sqlite3.connect(file)
    first.executescript(f"{made} CREATE TABLE t (a);")
    other = sqlite3.connect(f"file:{file}?mode=ro", uri=True)
    other.executescript(made)
    assert other.execute("SELECT count(*) FROM t").fetchone() == (0,)
