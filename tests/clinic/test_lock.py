"""The lock of an idle session and the end of every session.

Row A-08 of the handbook (OWASP session management, V: two to five minutes idle for what matters, held on the server; D: five
minutes, and twelve hours in all), E-21 (21 CFR 11.200(a)(1)(ii), V) and A-10 (ASVS 14.3.1: nothing of the last user is left).
"""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.contrib.messages import INFO
from django.contrib.messages.storage.cookie import CookieStorage
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clinic.forms.incidents import PLACES
from clinic.lock import LAST_SEEN, LOCKED, SIGNED_IN
from clinic.models import Incident
from tests.cast import PASSWORD, Cast, Member

pytestmark = pytest.mark.django_db
MORNING = datetime(2026, 3, 3, 8, tzinfo=UTC)
TODAY, NEAR_MISS = "/millbrook-lane/today/", "/millbrook-lane/upkeep/events/near-miss/"
STATIC = "/static/register/page.js"
DATA = {"HTTP_ACCEPT": "application/json"}


@pytest.fixture
def time() -> Iterator[Any]:
    with time_machine.travel(MORNING, tick=False) as travel:
        yield travel


@pytest.fixture
def tablet(time: Any, cast: Cast) -> Client:
    """The assistant's open session."""
    client = Client()
    assert prove(client, cast.assistant, at="/sign-in/").status_code == 302
    assert client.get(TODAY).status_code == 200
    return client


def prove(client: Client, who: Member, password: str = PASSWORD, at: str = "/unlock/") -> Any:
    return client.post(at, {"username": who.account.sign_in_name, "password": password})


def is_shut(answer: Any) -> bool:
    return answer.status_code == 302 and answer.url.startswith("/unlock/")


def nothing(tablet: Client, cast: Cast) -> None:
    pass


def a_wrong_password(tablet: Client, cast: Cast) -> None:
    assert prove(tablet, cast.assistant, "not my password at all").status_code == 200


def a_wrong_password_at_the_sign_in(tablet: Client, cast: Cast) -> None:
    assert prove(tablet, cast.assistant, "not my password at all", at="/sign-in/").status_code == 200


def looks_at(path: str) -> Any:
    return lambda tablet, cast: tablet.get(path)


def posts(tablet: Client, cast: Cast) -> None:
    assert is_shut(tablet.post(NEAR_MISS, {"place": PLACES[0], "how": "A cutter."}))


def asks_for_data(tablet: Client, cast: Cast) -> None:
    assert is_shut(tablet.post(NEAR_MISS, {"place": PLACES[0], "how": "A cutter."}, **DATA))


TRIES = {
    "nothing": nothing,
    "a wrong password": a_wrong_password,
    "a wrong password at the sign-in": a_wrong_password_at_the_sign_in,
    "a form sent": posts,
    "a form sent by script": asks_for_data,
} | {f"look at {path}": looks_at(path) for path in ("/", "/unlock/", "/sign-in/", STATIC, TODAY, "/nothing/there/")}


def test_whoever_leaves_a_tablet_locks_it_and_comes_back_to_the_page_that_was_open(tablet: Client, cast: Cast) -> None:
    """The word stands in the strip of every page. Elsewhere than here it leads nowhere."""
    assert 'action="/lock/"' in tablet.get(TODAY).content.decode()
    assert tablet.post("/lock/", {"next": TODAY}).url == "/unlock/?next=%2Fmillbrook-lane%2Ftoday%2F"
    assert is_shut(tablet.get(TODAY))
    assert prove(tablet, cast.assistant, at=f"/unlock/?next={TODAY}").url == TODAY
    assert tablet.post("/lock/", {"next": "https://elsewhere.example/"}).url == "/unlock/?next=%2F"
    assert Client().post("/lock/").url == "/sign-in/"


@pytest.mark.parametrize("act", TRIES.values(), ids=TRIES)
def test_nothing_but_a_right_proof_unlocks(tablet: Client, cast: Cast, time: Any, act: Any) -> None:
    time.shift(timedelta(minutes=5, seconds=1))
    for _ in range(3):
        act(tablet, cast)
        time.shift(timedelta(seconds=1))
        assert is_shut(tablet.get(TODAY))
    assert prove(tablet, cast.assistant).status_code == 302
    assert tablet.get(TODAY).status_code == 200


@pytest.mark.parametrize("seconds", [299, 300])
def test_a_session_stays_open_for_five_minutes(tablet: Client, time: Any, seconds: int) -> None:
    """A-08, V: OWASP session management, two to five minutes idle for what matters; five is our own choice (D)."""
    time.shift(timedelta(seconds=seconds))
    assert tablet.get(TODAY).status_code == 200


@pytest.mark.parametrize("path", ["/unlock/", "/sign-in/", STATIC])
def test_a_page_that_anybody_may_see_keeps_no_session_awake(tablet: Client, time: Any, path: str) -> None:
    for _ in range(3):
        time.shift(timedelta(seconds=101))
        tablet.get(path)
    assert is_shut(tablet.get(TODAY))


def test_a_locked_session_records_nothing_and_what_is_sent_again_waits_for_the_proof(
    tablet: Client, cast: Cast, time: Any
) -> None:
    sent = {"submission": str(uuid4()), "place": PLACES[0], "what": "", "how": "A cutter lay under a cloth."}
    before = Incident.objects.count()
    time.shift(timedelta(minutes=6))
    for _ in range(2):
        assert is_shut(tablet.post(NEAR_MISS, sent, **DATA))
    assert Incident.objects.count() == before
    prove(tablet, cast.assistant)
    for _ in range(2):
        assert not is_shut(tablet.post(NEAR_MISS, sent, **DATA))
    assert Incident.objects.count() == before + 1


def test_the_clock_set_back_opens_no_locked_session(tablet: Client, time: Any) -> None:
    time.shift(timedelta(minutes=6))
    assert is_shut(tablet.get(TODAY))
    time.shift(timedelta(minutes=-5))
    assert is_shut(tablet.get(TODAY))


def test_the_clock_set_back_before_the_last_touch_locks(tablet: Client, time: Any) -> None:
    time.shift(timedelta(minutes=4))
    tablet.get(TODAY)
    time.shift(timedelta(minutes=-3))
    assert is_shut(tablet.get(TODAY))


def busy_until(tablet: Client, cast: Cast, time: Any, minutes: int) -> None:
    """Something is done every twelve minutes; once it is left to lock, and unlocked by its person."""
    for done in range(0, minutes, 12):
        if done == 240:
            time.shift(timedelta(minutes=12))
            tablet.get(TODAY)
            time.shift(timedelta(minutes=-12))
            prove(tablet, cast.assistant)
        time.shift(timedelta(minutes=12))
        assert tablet.get(f"{TODAY}who-may/").status_code == 200  # any page would do; this one is made quickly


def test_a_session_ends_twelve_hours_after_the_sign_in_whatever_is_done_in_it(
    tablet: Client, cast: Cast, time: Any, settings: Any
) -> None:
    settings.IDLE_LOCK_SECONDS = 15 * 60  # so that a busy day is fewer pages
    busy_until(tablet, cast, time, 720)
    time.shift(timedelta(seconds=1))
    answer = tablet.get(TODAY)
    assert answer.url == "/sign-in/?next=/millbrook-lane/today/"
    assert SIGNED_IN not in tablet.session


def test_to_unlock_ones_own_session_does_not_lengthen_it(tablet: Client, cast: Cast, time: Any) -> None:
    signed_in = tablet.session[SIGNED_IN]
    time.shift(timedelta(hours=11))
    prove(tablet, cast.assistant)
    assert tablet.session[SIGNED_IN] == signed_in
    time.shift(timedelta(minutes=4))
    assert tablet.get(TODAY).status_code == 200


def test_a_locked_session_ends_at_its_twelve_hours_too(tablet: Client, cast: Cast, time: Any) -> None:
    time.shift(timedelta(hours=12, seconds=1))
    assert tablet.get(TODAY).url.startswith("/sign-in/")
    prove(tablet, cast.assistant)
    assert tablet.session[SIGNED_IN] == (MORNING + timedelta(hours=12, seconds=1)).timestamp()


def test_somebody_else_at_a_locked_tablet_begins_a_session_of_their_own(tablet: Client, cast: Cast, time: Any) -> None:
    key = tablet.session.session_key
    time.shift(timedelta(hours=1))
    prove(tablet, cast.elsewhere)
    assert (tablet.get(TODAY).status_code, tablet.get("/sandbar-court/today/").status_code) == (404, 200)
    assert tablet.session[SIGNED_IN] == (MORNING + timedelta(hours=1)).timestamp()
    assert not type(tablet.session)().exists(key)


def test_a_locked_session_may_be_left(tablet: Client, cast: Cast, time: Any) -> None:
    time.shift(timedelta(hours=1))
    tablet.post("/sign-out/")
    assert tablet.get(TODAY).url.startswith("/sign-in/")


@pytest.mark.parametrize("path", ["/unlock/", "/sign-in/"])
def test_a_locked_tablet_shows_nothing_of_its_last_person(tablet: Client, cast: Cast, time: Any, path: str) -> None:
    """A-10: neither the name, nor what the register had yet to tell them."""
    time.shift(timedelta(hours=1))
    tablet.cookies[CookieStorage.cookie_name] = told("Wren is signed off.")
    answer = tablet.get(path)
    assert answer.status_code == 200 and b"Wren" not in answer.content and "no-store" in answer.headers["Cache-Control"]
    prove(tablet, cast.elsewhere)
    assert "Wren" not in tablet.get("/sandbar-court/today/").content.decode()


def told(words: str) -> str:
    """A cookie that holds a message for the next page."""
    storage, answer = CookieStorage(Client().get("/sign-in/").wsgi_request), HttpResponse()
    storage.add(INFO, words)
    storage.update(answer)
    return answer.cookies[CookieStorage.cookie_name].value


def session_writes(tablet: Client, path: str) -> int:
    with CaptureQueriesContext(connection) as asked:
        tablet.get(path)
    return sum("django_session" in each["sql"] and not each["sql"].startswith("SELECT") for each in asked)


def test_reading_touches_the_session_at_most_once_a_minute(tablet: Client, time: Any) -> None:
    assert session_writes(tablet, TODAY) == 0
    time.shift(timedelta(seconds=59))
    assert session_writes(tablet, TODAY) == 0
    time.shift(timedelta(seconds=1))
    assert session_writes(tablet, TODAY) > 0
    assert tablet.session[LAST_SEEN] == (MORNING + timedelta(seconds=60)).timestamp()


def test_a_locked_session_is_written_once(tablet: Client, time: Any) -> None:
    time.shift(timedelta(minutes=6))
    assert session_writes(tablet, TODAY) > 0
    assert tablet.session[LOCKED] and session_writes(tablet, TODAY) == 0


# ---- the warning, and a page of work that holds the session


def works(tablet: Client, cast: Cast) -> Any:
    """Opens a page at which somebody works for a while without sending anything."""
    return tablet.get(reverse("clinic:log_entry", args=[cast.lane.code, cast.unit.pk, cast.task.code]))


def touches(tablet: Client) -> Any:
    return tablet.post("/awake/")


@pytest.mark.parametrize("path", [TODAY, NEAR_MISS])
def test_every_page_says_in_how_many_seconds_it_locks(tablet: Client, time: Any, path: str) -> None:
    tablet.get(TODAY)
    time.shift(timedelta(seconds=59))  # not yet written down again: it locks that much earlier, and says so
    assert 'data-locks-in="241"' in tablet.get(path).content.decode()
    time.shift(timedelta(seconds=1))
    assert 'data-locks-in="300"' in tablet.get(path).content.decode()


def test_what_the_page_says_is_when_it_locks(tablet: Client, time: Any) -> None:
    left = tablet.get(TODAY).context["locks_in"]
    time.shift(timedelta(seconds=left))
    assert touches(tablet).json() == {"seconds": 0}
    time.shift(timedelta(seconds=1))
    assert is_shut(tablet.get(TODAY))


def test_before_the_twelve_hours_are_over_the_page_says_that_it_ends(
    tablet: Client, cast: Cast, time: Any, settings: Any
) -> None:
    settings.IDLE_LOCK_SECONDS = 15 * 60
    busy_until(tablet, cast, time, 708)
    time.shift(timedelta(minutes=10))
    assert tablet.get(TODAY).context["locks_in"] == 120


def test_an_open_sheet_that_is_touched_stays_open_for_thirty_minutes_and_no_longer(
    tablet: Client, cast: Cast, time: Any
) -> None:
    assert works(tablet, cast).context["holds"]
    for _ in range(29):
        time.shift(timedelta(minutes=1))
        assert touches(tablet).status_code == 200
    time.shift(timedelta(seconds=59))
    assert touches(tablet).json()["seconds"] == 1
    time.shift(timedelta(seconds=2))
    assert is_shut(touches(tablet)) and is_shut(tablet.get(TODAY))


def test_an_open_sheet_that_nobody_touches_locks_after_five_minutes(tablet: Client, cast: Cast, time: Any) -> None:
    works(tablet, cast)
    time.shift(timedelta(minutes=5, seconds=1))
    assert is_shut(touches(tablet))


def test_where_no_sheet_is_open_a_touch_keeps_nothing_awake(tablet: Client, time: Any) -> None:
    assert not tablet.get(TODAY).context["holds"]
    for _ in range(3):
        time.shift(timedelta(seconds=90))
        touches(tablet)
    time.shift(timedelta(seconds=31))
    assert is_shut(tablet.get(TODAY))


def test_opened_again_it_holds_for_thirty_minutes_again(tablet: Client, cast: Cast, time: Any) -> None:
    for _ in range(2):
        works(tablet, cast)
        for _ in range(7):
            time.shift(timedelta(minutes=4))
            assert touches(tablet).json()["seconds"] > 60


def test_a_touch_is_written_down_at_most_once_a_minute(tablet: Client, cast: Cast, time: Any) -> None:
    works(tablet, cast)
    time.shift(timedelta(seconds=59))
    before = tablet.session[LAST_SEEN]
    touches(tablet)
    assert tablet.session[LAST_SEEN] == before
    time.shift(timedelta(seconds=1))
    touches(tablet)
    assert tablet.session[LAST_SEEN] == before + 60


def test_a_stranger_keeps_nothing_awake() -> None:
    assert touches(Client()).status_code == 302
    assert Client().get("/awake/").status_code == 405
