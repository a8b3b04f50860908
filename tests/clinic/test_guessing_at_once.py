"""Guesses that arrive at once, on whichever database the run uses (row A-05)."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

import pytest
from django.db import connection
from django.test import Client

from clinic import clock, pins
from clinic.guessing import Run, charge
from clinic.models import Account, Organisation, Person, Pin, Site, TryCount
from clinic.rules.pins import TRIES_A_DAY

pytestmark = pytest.mark.usefixtures("free_database")
TWELVE = 12


def at_once(act: Callable[[], Any]) -> list[Any]:
    """What twelve threads are answered that begin together."""
    barrier = Barrier(TWELVE)

    def one() -> Any:
        try:
            barrier.wait(30)
            return act()
        finally:
            connection.close()

    with ThreadPoolExecutor(TWELVE) as pool:
        return [waits.result() for waits in [pool.submit(one) for _ in range(TWELVE)]]


def test_twelve_at_once_count_as_twelve() -> None:
    run = Run(("somebody",), 100)
    assert at_once(lambda: charge([run])) == [True] * TWELVE
    assert TryCount.objects.get(key=run.key).failures == TWELVE


@pytest.mark.parametrize("fades", [True, False])
def test_of_twelve_at_once_no_more_are_looked_at_than_the_limit(fades: bool) -> None:
    assert sum(at_once(lambda: charge([Run(("somebody",), 10, fades)]))) == 10


def test_of_twelve_wrong_passwords_sent_at_once_ten_are_looked_at() -> None:
    def guess() -> int:
        return Client().post("/sign-in/", {"username": "nobody", "password": "wrong wrong wrong"}).status_code

    assert sorted(at_once(guess)) == [200] * 10 + [429] * 2


def test_of_twelve_wrong_pins_sent_at_once_five_are_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    """A-06 (V draft): at most ten tries; ours are five."""
    looked = []
    monkeypatch.setattr(pins, "check_password", lambda *args: looked.append(args) or False)
    now = clock.now()
    row = Pin.objects.create(account=somebody(), device="d", proof="p", chosen_at=now, opened_at=now)
    assert at_once(lambda: pins.is_right(row, "000001", "device")) == [False] * TWELVE
    assert len(looked) == TRIES_A_DAY and Pin.objects.get().wrong_today == TRIES_A_DAY


def somebody() -> Account:
    group = Organisation.objects.create(name="Group")
    site = Site.objects.create(
        organisation=group, name="Lane", code="lane", time_zone="UTC", register_start="2026-01-01"
    )
    who = Person.objects.create(organisation=group, home_site=site, given_name="Wren", family_name="Adeyemi")
    return Account.objects.create(person=who, sign_in_name="wren")
