"""My account: sessions that are seen and ended (ASVS 5.0 7.5.2, read in copies), another password (6.2.2, 6.2.3), what was done."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.sessions.models import Session
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from clinic import clock
from clinic.accounts import end_sessions
from clinic.actions.recovery import ask_recovery
from clinic.actions.roster import sign_out_everywhere
from clinic.models import Change, SignedIn
from tests.cast import PASSWORD, Cast, Member

pytestmark = pytest.mark.django_db
ACCOUNT, TODAY = "/account/", "/millbrook-lane/today/"
FIREFOX = "Mozilla/5.0 (Windows NT 10.0; rv:140.0) Gecko/20100101 Firefox/140.0"
IPAD = "Mozilla/5.0 (iPad; CPU OS 18_5 like Mac OS X) AppleWebKit/605.1 Version/18.5 Safari/604.1"
NEW = "nine lanterns by the quay"


def sign_in(who: Member, browser: str = FIREFOX, place: str = "192.0.2.7", password: str = PASSWORD) -> Client:
    client = Client(HTTP_USER_AGENT=browser, REMOTE_ADDR=place)
    client.post("/sign-in/", {"username": who.account.sign_in_name, "password": password})
    return client


def is_in(client: Client) -> bool:
    return client.get(TODAY).status_code == 200


def page(client: Client) -> str:
    return client.get(ACCOUNT).content.decode()


def ending(who: Member, client: Client) -> str:
    row = who.account.signed_in.get(session_key=client.session.session_key)
    return f"/account/sessions/{row.pk}/end/"


def test_each_session_is_told_with_its_device_and_place(cast: Cast) -> None:
    here, there = sign_in(cast.assistant), sign_in(cast.assistant, IPAD, "192.0.2.8")
    shown = here.get(ACCOUNT).context["sessions"]
    assert [(each.device, each.address, each.is_this) for each in shown] == [
        ("Firefox on Windows", "192.0.2.7", True),
        ("Safari on an iPad", "192.0.2.8", False),
    ]
    assert is_in(there) and "Firefox on Windows</b>, at 192.0.2.7, this session" in page(here)


def test_a_session_that_is_ended_answers_nothing_from_its_next_request_on(cast: Cast) -> None:
    here, there = sign_in(cast.assistant), sign_in(cast.assistant, IPAD)
    end = ending(cast.assistant, there)
    assert is_in(there)
    assert here.post(end).url == ACCOUNT
    assert not is_in(there) and is_in(here) and "iPad" not in page(here)
    assert here.post(end).status_code == 404


def test_nobody_ends_somebody_elses(cast: Cast) -> None:
    mine, theirs = sign_in(cast.owner), sign_in(cast.assistant)
    assert mine.post(ending(cast.assistant, theirs)).status_code == 404
    assert is_in(theirs) and "192.0.2.7, this session" in page(theirs)


def test_the_session_one_is_in_is_left_by_signing_out(cast: Cast) -> None:
    here = sign_in(cast.assistant)
    here.post(ending(cast.assistant, here))
    assert is_in(here)


def test_all_others_end_at_once(cast: Cast) -> None:
    here, *others = [sign_in(cast.assistant) for _ in range(3)]
    theirs = sign_in(cast.owner)
    here.post("/account/sessions/end-others/")
    assert [is_in(each) for each in (here, *others, theirs)] == [True, False, False, True]


def test_a_session_that_was_left_is_not_told(cast: Cast) -> None:
    here, there = sign_in(cast.assistant), sign_in(cast.assistant, IPAD)
    there.post("/sign-out/")
    assert "iPad" not in page(here)
    sign_in(cast.assistant)
    assert SignedIn.objects.filter(account=cast.assistant.account).count() == 2


def test_a_session_over_its_twelve_hours_is_not_told(cast: Cast) -> None:
    sign_in(cast.assistant, IPAD)
    Session.objects.update(expire_date=clock.now() - timedelta(seconds=1))
    assert "iPad" not in page(sign_in(cast.assistant))


def asked_by(client: Client) -> list[str]:
    with CaptureQueriesContext(connection) as asked:
        client.get(ACCOUNT)
    return [each["sql"] for each in asked]


def test_looking_writes_nothing_and_asks_no_more_for_more_sessions(cast: Cast) -> None:
    here = sign_in(cast.assistant)
    asked_by(here)
    once = asked_by(here)
    for _ in range(3):
        sign_in(cast.assistant)
    assert len(asked_by(here)) == len(once) and all(each.startswith("SELECT") for each in once)


def test_whoever_unlocks_keeps_the_row_of_their_session(cast: Cast) -> None:
    client, start = sign_in(cast.assistant), clock.now()
    row = SignedIn.objects.get(account=cast.assistant.account)
    with clock.standing_at(start + timedelta(minutes=6)):
        client.get(TODAY)
        client.post("/unlock/", {"username": cast.assistant.account.sign_in_name, "password": PASSWORD})
        assert is_in(client)
    assert [each.pk for each in SignedIn.objects.filter(account=cast.assistant.account)] == [row.pk]
    assert SignedIn.objects.get(pk=row.pk).session_key == client.session.session_key


def test_a_lost_device_ends_every_session(cast: Cast) -> None:
    clients = [sign_in(cast.assistant) for _ in range(2)]
    assert sign_out_everywhere(cast.assistant.account, at=cast.lane, by=cast.owner.person) == 2
    assert not any(map(is_in, clients)) and end_sessions(cast.assistant.account) == 0
    assert not cast.assistant.account.signed_in.exists()


# The password.


def change(client: Client, now: str = PASSWORD, new: str = NEW, again: str = "") -> Any:
    sent = {"password": now, "new_password1": new, "new_password2": again or new}
    return client.post("/account/password/", sent)


def test_another_password_takes_the_old_one_and_ends_every_other_session(cast: Cast) -> None:
    here, there = sign_in(cast.assistant), sign_in(cast.assistant, IPAD)
    key = here.session.session_key
    assert change(here).url == ACCOUNT
    assert is_in(here) and not is_in(there) and here.session.session_key != key
    assert is_in(sign_in(cast.assistant, password=NEW)) and not is_in(sign_in(cast.assistant))
    assert Change.objects.filter(said="Wren Adeyemi changed the password of wren.adeyemi").count() == 1
    assert "this session" in page(here)


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"now": "not my password at all"}, "That is not your password"),
        ({"new": "fourteen chars"}, "at least 15 characters"),
        ({"again": "ten lanterns by the quay"}, "The two password fields didn’t match"),
    ],
)
def test_a_password_is_refused_in_words_and_nothing_changes(cast: Cast, sent: dict[str, str], says: str) -> None:
    here, there = sign_in(cast.assistant), sign_in(cast.assistant, IPAD)
    assert says in change(here, **sent).content.decode()
    assert is_in(there) and is_in(sign_in(cast.assistant))


def test_five_wrong_old_passwords_pause(cast: Cast) -> None:
    here = sign_in(cast.assistant)
    said = [change(here, now=f"not my password {n}").content.decode() for n in range(6)]
    assert ["Too many wrong passwords" in each for each in said] == [False] * 5 + [True]


# What was done to it, and who is asked in.


def test_what_was_done_to_an_account_is_told_to_its_owner_only(cast: Cast) -> None:
    ask_recovery(cast.assistant.person, by=cast.coordinator.person, how="She stood before me.", id=uuid4())
    assert "Bram Okafor asked to open your account anew" in page(sign_in(cast.assistant))
    assert "asked to open" not in page(sign_in(cast.supervisor))


def test_the_page_says_the_posts_at_each_site(cast: Cast) -> None:
    shown = page(sign_in(cast.owner))
    assert "Practice owner, every site" in shown and "Dentist, Millbrook Lane" in shown


@pytest.mark.parametrize("path", ["", "password/", "factors/app/", "factors/passkey/", "factors/codes/", f"factors/{uuid4()}/remove/", f"sessions/{uuid4()}/end/", "sessions/end-others/"])  # fmt: skip
def test_a_stranger_is_sent_to_the_sign_in(client: Client, db: None, path: str) -> None:
    for answer in (client.get(f"{ACCOUNT}{path}"), client.post(f"{ACCOUNT}{path}")):
        assert answer.status_code == 302 and answer.url.startswith("/sign-in/?next=/account/")
