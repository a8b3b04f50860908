"""Every address × every role × own and other site has an expected answer, read from the door of its view and the table of
who may do what (design, section 9), which stands here a second time in words of its own."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import Client
from django.urls import path

from clinic.doors import door
from clinic.models import Site
from clinic.permissions import SOURCES, Allowed, May
from tests.cast import Cast
from tests.house.addresses import Address, addresses, link
from training.actions.grants import grant_authority

# Open to everybody, each for a reason. Every other address has a door.
PUBLIC = {
    "clinic:home",  # sends a stranger to the sign-in, everybody else to their own Today
    "clinic:sign_in",
    "clinic:sign_out",
    "clinic:unlock",
    "clinic:invitation",  # the code on the slip is the key
    "training:certificate_check",  # for whoever holds a certificate: the code on the paper is the key
}
FEWEST_ADDRESSES = 5

DUTY = {May.OWN_RECORD, May.DUTY}
SUPERVISE = DUTY | {May.OBSERVE, May.SIGN, May.READ_SITE}
COORDINATE = DUTY | {May.DRAFT, May.ROSTER, May.READ_SITE, May.READ_BINDER}
OWN = COORDINATE | {May.APPROVE, May.APPOINT}
NOTHING: set[May] = set()
# who: what they may at Millbrook Lane, what at Sandbar Court
TABLE: dict[str, tuple[set[May], set[May]]] = {
    "owner": (OWN, OWN),
    "coordinator": (COORDINATE, COORDINATE),
    "supervisor": (SUPERVISE, NOTHING),
    "second": (DUTY, NOTHING),
    "assistant": (DUTY, NOTHING),
    "elsewhere": (NOTHING, DUTY),
    "inspector": (NOTHING, NOTHING),
}
WELL_ANSWERED = {200, 302, 405}

pytestmark = pytest.mark.django_db


@pytest.fixture
def practice(cast: Cast) -> Cast:
    """The practice of seven with its supervisor's authority."""
    yesterday = date.today() - timedelta(days=1)
    grant_authority(cast.supervisor.person, cast.lane, yesterday, None, by=cast.owner.person, areas=["milling"])
    return cast


def expected(address: Address, may: set[May]) -> set[int]:
    """What somebody who may do these things at the site is answered."""
    if not may:
        return {404}
    return WELL_ANSWERED if address.any_of and address.any_of & may else {403}


def wrong_answers(client: Client, practice: Cast, who: str, site: Site, may: set[May]) -> list[str]:
    person = getattr(practice, who).person
    found = []
    for address in filter(lambda each: each.at_site, addresses()):
        url = link(address, site, person)
        status = client.get(url).status_code
        if status not in expected(address, may):
            found.append(f"{who} at {url}: {status}, not {sorted(expected(address, may))}")
    return found


def test_every_address_has_a_door_or_is_named_as_public() -> None:
    without = {each.name for each in addresses() if each.any_of is None}
    assert without == PUBLIC & {each.name for each in addresses()}


def test_the_walk_over_addresses_saw_them_all() -> None:
    found = list(addresses())
    assert len(found) >= FEWEST_ADDRESSES
    assert len({each.name for each in found}) == len(found), "two addresses have one name"


@pytest.mark.parametrize("who", TABLE)
def test_the_policy_is_the_table(practice: Cast, who: str) -> None:
    allowed = Allowed(getattr(practice, who).person)
    held = tuple(allowed.verbs.get(site.pk, set()) for site in (practice.lane, practice.court))
    assert held == TABLE[who]


@pytest.mark.parametrize("who", TABLE)
def test_every_address_answers_each_role_as_its_door_says(practice: Cast, signed_in: Any, who: str) -> None:
    client, (at_lane, at_court) = signed_in(getattr(practice, who)), TABLE[who]
    found = wrong_answers(client, practice, who, practice.lane, at_lane)
    assert found + wrong_answers(client, practice, who, practice.court, at_court) == []


def test_a_stranger_is_sent_to_the_sign_in(practice: Cast, client: Client) -> None:
    for address in filter(lambda each: each.at_site, addresses()):
        answer = client.get(link(address, practice.lane, practice.assistant.person))
        assert (answer.status_code, answer.url.split("?")[0]) == (302, "/sign-in/"), address.name


@pytest.mark.parametrize("verb", May)
def test_asked_backward_the_policy_gives_the_same_answer(practice: Cast, verb: May) -> None:
    day = date.today()
    for site, place in ((practice.lane, 0), (practice.court, 1)):
        keys = {key for source in SOURCES for key in source.backward(verb, site, day)}
        assert keys == {getattr(practice, who).person.pk for who, may in TABLE.items() if verb in may[place]}


@door(May.DUTY)
def made_up_view(request: HttpRequest, site: Site) -> HttpResponse:
    return HttpResponse("open")


def test_an_address_without_a_door_would_be_found() -> None:
    patterns = [path("<slug:site>/a/", made_up_view, name="a"), path("b/", lambda request: HttpResponse(), name="b")]
    made_up = {each.name: each for each in addresses(patterns)}
    assert (made_up["a"].any_of, made_up["b"].any_of) == (frozenset({May.DUTY}), None)
    assert (expected(made_up["a"], DUTY), expected(made_up["a"], {May.SIGN})) == (WELL_ANSWERED, {403})
