"""Signing in, invitations, the lock of an idle tablet, and proving again who signs.

Rows of the handbook stand beside their tests (NIST SP 800-63B-4; OWASP session management; 21 CFR 11.100).
"""

from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client

from clinic import clock, guessing
from clinic.accounts import INVITATION_LASTS, invite, open_invitation, prove
from clinic.actions.invitations import accept
from clinic.actions.people import free_name, leave
from clinic.models import Account, Person
from clinic.record import Refused
from tests.cast import PASSWORD, Cast, Member

pytestmark = pytest.mark.django_db
NEW = "nine lanterns by the quay"


def signed_in_by_page(cast: Cast, password: str = PASSWORD) -> Client:
    client = Client()
    client.post("/sign-in/", {"username": cast.assistant.account.sign_in_name, "password": password})
    return client


def today_page(client: Client, cast: Cast) -> Any:
    return client.get(f"/{cast.lane.code}/today/")


def test_name_and_password_open_todays_page(cast: Cast) -> None:
    assert today_page(signed_in_by_page(cast), cast).status_code == 200


def test_a_wrong_password_opens_nothing(cast: Cast) -> None:
    assert today_page(signed_in_by_page(cast, "not my password at all"), cast).status_code == 302


def test_ten_wrong_passwords_pause_that_name_from_that_place(cast: Cast) -> None:
    """A-05, V: NIST SP 800-63B-4, at most 100 misses in a row; ten is our own choice."""
    client, name = Client(), cast.assistant.account.sign_in_name
    for _ in range(10):
        client.post("/sign-in/", {"username": name, "password": "wrong wrong wrong"})
    assert client.post("/sign-in/", {"username": name, "password": PASSWORD}).status_code == 429


def test_an_idle_tablet_locks_and_leads_back_to_where_one_was(cast: Cast) -> None:
    with time_machine.travel(clock.now(), tick=False) as travel:
        client = signed_in_by_page(cast)
        travel.shift(timedelta(minutes=6))
        answer = today_page(client, cast)
    assert answer.url == f"/unlock/?next=%2F{cast.lane.code}%2Ftoday%2F"


@pytest.fixture
def invited(cast: Cast) -> Account:
    """Somebody who has not chosen a password yet."""
    account = cast.assistant.account
    account.set_unusable_password()
    account.save(update_fields=["password"])
    return account


def test_an_invitation_opens_no_account_that_has_a_password(cast: Cast) -> None:
    """E-22: getting back into an account takes a second person."""
    assert open_invitation(invite(cast.assistant.account, by=cast.owner.person)) is None


def test_an_invitation_is_good_once(invited: Account, cast: Cast) -> None:
    code = invite(invited, by=cast.owner.person)
    accept(open_invitation(code), NEW)
    assert open_invitation(code) is None


def test_an_invitation_ends_after_seven_days(invited: Account) -> None:
    code = invite(invited, by=None)
    with clock.standing_at(clock.now() + INVITATION_LASTS + timedelta(seconds=1)):
        assert open_invitation(code) is None


def test_a_new_invitation_ends_the_one_before(invited: Account) -> None:
    first = invite(invited, by=None)
    invite(invited, by=None)
    assert open_invitation(first) is None


@pytest.mark.parametrize(
    ("password", "status"), [("fourteen chars", 200), ("fifteen letters", 302), ("ñ" * 8 + "abcdefg", 302)]
)
def test_a_password_has_at_least_fifteen_characters_of_any_kind(invited: Account, password: str, status: int) -> None:
    """A-01, V: NIST SP 800-63B-4 3.1.1.2. 14 are refused, 15 of any kind are not."""
    code = invite(invited, by=None)
    sent = {"new_password1": password, "new_password2": password, "accepts": "on"}
    assert Client().post(f"/invitation/{code}/", sent).status_code == status


def test_one_word_repeated_is_no_password(invited: Account) -> None:
    code = invite(invited, by=None)
    sent = {"new_password1": "millroommillroom", "new_password2": "millroommillroom", "accepts": "on"}
    assert b"repeats one word" in Client().post(f"/invitation/{code}/", sent).content


def test_proving_takes_ones_own_password(cast: Cast) -> None:
    account = cast.supervisor.account
    assert prove(account.sign_in_name.upper(), PASSWORD, site=cast.lane) == account


def test_five_misses_shut_signing_for_a_quarter_of_an_hour(cast: Cast) -> None:
    account = cast.supervisor.account
    for _ in range(5):
        with pytest.raises(Refused, match="Nothing was signed"):
            prove(account.sign_in_name, "wrong", site=cast.lane)
    with pytest.raises(Refused, match="Too many wrong passwords"):
        prove(account.sign_in_name, PASSWORD, site=cast.lane)
    with clock.standing_at(clock.now() + timedelta(minutes=16)):
        assert prove(account.sign_in_name, PASSWORD, site=cast.lane) == account


def test_nobody_signs_before_their_identity_was_checked(cast: Cast) -> None:
    """E-17, V: 21 CFR 11.100(b)."""
    Account.objects.filter(pk=cast.supervisor.account.pk).update(identity_checked="")
    with pytest.raises(Refused, match="how it was checked who you are"):
        prove(cast.supervisor.account.sign_in_name, PASSWORD, site=cast.lane)


def test_whoever_has_left_signs_in_nowhere(cast: Cast) -> None:
    client = signed_in_by_page(cast)
    leave(cast.assistant.person, clock.today("UTC") - timedelta(days=1), by=cast.owner.person)
    assert today_page(client, cast).status_code == 302
    assert today_page(signed_in_by_page(cast), cast).status_code == 302


def test_a_sign_in_name_is_never_given_to_somebody_else(cast: Cast) -> None:
    """E-16, V: 21 CFR 11.100(a)."""
    namesake = Person(given_name="Wren", family_name="Adeyemi")
    assert (cast.assistant.account.sign_in_name, free_name(namesake)) == ("wren.adeyemi", "wren.adeyemi.2")


def test_a_name_keeps_its_letters_in_the_sign_in_name(cast: Cast) -> None:
    assert free_name(Person(given_name="Zoë", family_name="Ångström-Łuczak")) == "zoe.angstrom-luczak"


def test_a_colleague_signs_in_from_the_same_tablet_all_the_same(cast: Cast) -> None:
    client = Client()
    for _ in range(10):
        client.post("/sign-in/", {"username": cast.assistant.account.sign_in_name, "password": "wrong wrong wrong"})
    sent = {"username": cast.supervisor.account.sign_in_name, "password": PASSWORD}
    assert client.post("/sign-in/", sent).status_code == 302


def wrong(name: str, place: str) -> None:
    Client(REMOTE_ADDR=place).post("/sign-in/", {"username": name, "password": "wrong wrong wrong"})


def opens(member: Member, place: str) -> int:
    sent = {"username": member.account.sign_in_name, "password": PASSWORD}
    return Client(REMOTE_ADDR=place).post("/sign-in/", sent).status_code


def test_a_name_tried_from_many_places_is_paused_everywhere(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    """A-05, NIST SP 800-63B-4 3.2.2, V: at most a hundred wrong tries in a row for one account; here twelve stand for them."""
    monkeypatch.setattr(guessing, "FROM_ANYWHERE", 12)
    for n in range(12):
        wrong(cast.assistant.account.sign_in_name, f"192.0.2.{n % 4}")
    assert (opens(cast.assistant, "192.0.2.99"), opens(cast.supervisor, "192.0.2.99")) == (429, 302)


def test_a_place_that_tries_many_names_is_paused_for_all(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guessing, "FROM_ONE_PLACE", 12)
    for n in range(12):
        wrong(f"name.{n}", "192.0.2.7")
    assert (opens(cast.supervisor, "192.0.2.7"), opens(cast.supervisor, "192.0.2.8")) == (429, 302)


def test_behind_a_proxy_the_pause_is_for_the_place_that_the_proxy_saw(cast: Cast, settings: Any) -> None:
    """What the visitor wrote before it is not believed."""
    settings.BEHIND_PROXY = True
    name = cast.assistant.account.sign_in_name
    for n in range(10):
        client = Client(HTTP_X_FORWARDED_FOR=f"198.51.100.{n}, 192.0.2.7")
        client.post("/sign-in/", {"username": name, "password": "wrong wrong wrong"})
    sent = {"username": name, "password": PASSWORD}
    here, elsewhere = (Client(HTTP_X_FORWARDED_FOR=place) for place in ("192.0.2.7", "192.0.2.8"))
    assert (here.post("/sign-in/", sent).status_code, elsewhere.post("/sign-in/", sent).status_code) == (429, 302)
