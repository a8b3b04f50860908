"""Guessing at passwords. Row A-05 (NIST SP 800-63B-4 3.2.2, V: at most a hundred wrong tries in a row for one account; D: a
pause of a quarter of an hour after ten, no permanent lock by a stranger) and E-27 (21 CFR 11.300(d), M)."""

import logging
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.http import HttpRequest
from django.test import Client

from clinic import clock, guessing
from clinic.accounts import end_sessions, prove
from clinic.guessing import FROM_ANYWHERE, FROM_KNOWN, Run, TryOrigin, charge, to_sign_in
from clinic.models import SigningAttempt, TryCount
from clinic.record import Refused
from tests.cast import PASSWORD, Cast, Member

pytestmark = pytest.mark.django_db
WRONG = "wrong wrong wrong"
HERE, THERE = "192.0.2.7", "192.0.2.8"


def sign_in(who: Member | str, password: str, client: Client | None = None, place: str = HERE) -> int:
    name = who if isinstance(who, str) else who.account.sign_in_name
    sent = {"username": name, "password": password}
    return (client or Client()).post("/sign-in/", sent, REMOTE_ADDR=place).status_code


def own_device(who: Member, place: str = THERE) -> Client:
    """A device on which somebody has signed in, and out again."""
    client = Client()
    assert sign_in(who, PASSWORD, client, place) == 302
    client.post("/sign-out/")
    return client


def refusal(name: str, password: str, cast: Cast, at: TryOrigin = guessing.TryOrigin()) -> tuple[str, str, str]:  # noqa: B008
    with pytest.raises(Refused) as refused:
        prove(name, password, site=cast.lane, at=at)
    (one,) = refused.value.refusals
    return one.says, one.supply, one.field


def test_a_hundred_and_fifteen_tries_from_one_address_shut_nobody_out_elsewhere(cast: Cast) -> None:
    answers = [sign_in(cast.assistant, WRONG) for _ in range(115)]
    assert (answers.count(200), answers.count(429)) == (10, 105)
    assert (sign_in(cast.assistant, PASSWORD), sign_in(cast.assistant, PASSWORD, place=THERE)) == (429, 302)
    assert sign_in(cast.supervisor, PASSWORD, place=THERE) == 302


def test_tries_during_a_pause_do_not_lengthen_it(cast: Cast) -> None:
    start = clock.now()
    for minute in (0, 5, 10, 14):
        with clock.standing_at(start + timedelta(minutes=minute)):
            for _ in range(12):
                sign_in(cast.assistant, WRONG)
    with clock.standing_at(start + timedelta(minutes=15)):
        assert sign_in(cast.assistant, PASSWORD) == 302


def test_a_right_password_during_a_pause_is_not_looked_at(cast: Cast) -> None:
    for _ in range(10):
        sign_in(cast.assistant, WRONG)
    with clock.standing_at(clock.now() + timedelta(minutes=14)):
        assert sign_in(cast.assistant, PASSWORD) == 429


def test_a_right_password_begins_the_run_anew(cast: Cast) -> None:
    for _ in range(3):
        assert [sign_in(cast.assistant, WRONG) for _ in range(9)] == [200] * 9
        assert sign_in(cast.assistant, PASSWORD) == 302


def test_ones_own_device_stays_open_whatever_strangers_try(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guessing, "FROM_ANYWHERE", 12)
    device = own_device(cast.assistant)
    for n in range(24):
        sign_in(cast.assistant, WRONG, place=f"198.51.100.{n}")
    assert sign_in(cast.assistant, PASSWORD, place="198.51.100.99") == 429
    assert sign_in(cast.assistant, PASSWORD, device, THERE) == 302


def test_a_device_that_somebody_else_signed_in_on_is_no_known_one(cast: Cast) -> None:
    device = own_device(cast.supervisor, HERE)
    for _ in range(10):
        sign_in(cast.assistant, WRONG)
    assert sign_in(cast.assistant, PASSWORD, device) == 429


def test_a_made_up_device_is_no_known_one(cast: Cast) -> None:
    for n in range(12):
        client = Client()
        client.cookies[guessing.device_cookie()] = f"made up {n}"
        answer = sign_in(cast.assistant, WRONG, client)
    assert answer == 429


def test_a_lost_device_is_known_no_more(cast: Cast) -> None:
    device = own_device(cast.assistant)
    assert guessing.knows(cast.assistant.account.sign_in_name, device.cookies["device"].value)
    end_sessions(cast.assistant.account)
    assert not guessing.knows(cast.assistant.account.sign_in_name, device.cookies["device"].value)


def test_the_cookie_of_a_device_is_out_of_reach_of_scripts_and_says_no_name(cast: Cast) -> None:
    cookie = own_device(cast.assistant).cookies["device"]
    assert cookie["httponly"] and cookie["samesite"] == "Lax" and "wren" not in cookie.value.lower()


def test_a_name_stands_at_most_a_hundred_tries_in_a_row_however_slowly_they_come(cast: Cast) -> None:
    """A-05: a try every quarter of an hour, each from a place of its own and from the known device too."""
    assert FROM_ANYWHERE + FROM_KNOWN == 100
    name, device = cast.assistant.account.sign_in_name, own_device(cast.assistant).cookies["device"].value
    start, looked_at = clock.now(), 0
    for n in range(120):
        with clock.standing_at(start + timedelta(minutes=4 * n)):
            looked_at += charge(to_sign_in(name, TryOrigin(f"198.51.100.{n}", "")))
            looked_at += charge(to_sign_in(name, TryOrigin("", device)))
    over = sum(TryCount.objects.filter(failures__gt=FROM_KNOWN).values_list("failures", flat=True)) > 0
    later = 120 * 4 // 15 * 2
    assert over and looked_at <= 100 + later


def test_what_is_refused_in_one_run_counts_in_none(cast: Cast) -> None:
    small, large = Run(("small",), 1), Run(("large",), 9)
    assert [charge([small, large]) for _ in range(4)] == [True, False, False, False]
    assert TryCount.objects.get(key=large.key).failures == 1


# Signing.


def test_wrong_tries_on_another_device_do_not_stop_a_supervisors_signing_on_hers(cast: Cast) -> None:
    hers = TryOrigin(THERE, own_device(cast.supervisor).cookies["device"].value)
    theirs = TryOrigin(HERE, own_device(cast.assistant).cookies["device"].value)
    name = cast.supervisor.account.sign_in_name
    for _ in range(5):
        refusal(name, WRONG, cast, theirs)
    assert refusal(name, PASSWORD, cast, theirs)[0] == "Too many wrong passwords for signing."
    assert prove(name, PASSWORD, site=cast.lane, at=hers) == cast.supervisor.account


@pytest.mark.parametrize("name", ["nobody.here", "x" * 60_000])
def test_signing_does_not_tell_which_names_exist(cast: Cast, name: str) -> None:
    known = [refusal(cast.supervisor.account.sign_in_name, WRONG, cast) for _ in range(7)]
    assert [refusal(name, WRONG, cast) for _ in range(7)] == known


def test_a_name_without_an_account_takes_the_hash_too(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    hashed: list[str] = []
    monkeypatch.setattr("clinic.accounts.make_password", hashed.append)
    refusal("nobody.here", WRONG, cast)
    assert hashed == [WRONG]


def test_whoever_has_no_written_identity_is_told_so_only_after_the_right_password(cast: Cast) -> None:
    account = cast.supervisor.account
    account.identity_checked = ""
    account.save()
    assert "do not belong together" in refusal(account.sign_in_name, WRONG, cast)[0]
    assert "how it was checked who you are" in refusal(account.sign_in_name, PASSWORD, cast)[0]


def test_tries_during_a_pause_of_signing_are_not_kept_as_misses(cast: Cast) -> None:
    for _ in range(9):
        refusal(cast.supervisor.account.sign_in_name, WRONG, cast)
    assert SigningAttempt.objects.filter(succeeded=False).count() == 5


@pytest.mark.parametrize("length", [256, 60_000])
def test_a_name_of_any_length_is_answered_in_words(cast: Cast, length: int) -> None:
    assert sign_in("x" * length, WRONG) == 200


# The log.


def test_the_log_says_who_guessed_from_where_and_no_password(cast: Cast, caplog: pytest.LogCaptureFixture) -> None:
    name = cast.assistant.account.sign_in_name
    with caplog.at_level(logging.WARNING):
        for _ in range(11):
            sign_in(cast.assistant, WRONG)
        sign_in("two\nlines", WRONG)
        refusal(name, WRONG, cast, TryOrigin(HERE))
    lines = [record.getMessage() for record in caplog.records]
    assert f"A wrong password for signing in as '{name}' from {HERE}." in lines
    assert f"Signing in as '{name}' is paused at {HERE}: too many wrong passwords." in lines
    assert f"A wrong password for signing as '{name}' from {HERE}." in lines
    assert WRONG not in caplog.text and not any("\n" in line for line in lines)


def test_a_place_behind_a_proxy_is_the_one_the_proxy_saw(settings: Any) -> None:
    settings.BEHIND_PROXY = True
    request = HttpRequest()
    request.META |= {"HTTP_X_FORWARDED_FOR": f"{uuid4()}, {HERE}", "REMOTE_ADDR": "127.0.0.1"}
    assert guessing.place_of(request) == TryOrigin(HERE, "")
