"""Every address × every role × own and other site has an expected answer on the demo practice, read from the door of its
view and the table of who may do what (design, section 9), which stands here a second time in words of its own. And every
page has one first sentence, a title, and no more questions to the database with 100 people than with 10.
"""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import Client
from django.urls import path

from clinic.doors import door
from clinic.models import Site
from clinic.permissions import SOURCES, Allowed, May
from tests.demo import TODAY, Demo
from tests.demo_practice.looker import Looker, Seen
from tests.house.addresses import Address, addresses, link, row_of_other_site
from tests.house.crowd import crowd, questions
from tests.house.html import faults

# Open to everybody, each for a reason. Every other address has a door.
PUBLIC = {
    "clinic:home",  # sends a stranger to the sign-in, everybody else to their own Today
    "clinic:sign_in",
    "clinic:sign_out",
    "clinic:unlock",
    "clinic:awake",  # a stranger is sent to the sign-in; it answers in seconds only
    "clinic:lock_now",  # a stranger is sent to the sign-in; it only shuts
    "clinic:second_factor",  # opens for whoever proved a password a moment ago
    "clinic:by_pin",  # a PIN instead of a password, where one counts on this device
    "clinic:change_person",  # to whoever comes next at a shared tablet: a stranger is sent to the sign-in
    "clinic:invitation",  # the code on the slip is the key
    "training:certificate_check",  # for whoever holds a certificate: the code on the paper is the key
}
# About one's own account only: a stranger is sent to the sign-in, and a row of somebody else's is not found.
OWN_ACCOUNT = {
    "clinic:account",
    "clinic:password_change",
    "clinic:session_end",
    "clinic:sessions_end_others",
    "clinic:factor_app",
    "clinic:factor_passkey",
    "clinic:factor_remove",
    "clinic:pin_choose",
    "clinic:pin_end",
    "clinic:recovery_codes",
}
ADDRESSES = 198  # exact: a new page is a decision about who may see it

DUTY = {May.OWN_RECORD, May.DUTY}
SUPERVISE = DUTY | {May.OBSERVE, May.SIGN, May.READ_SITE}
COORDINATE = DUTY | {May.DRAFT, May.ROSTER, May.READ_SITE, May.READ_BINDER}
OWN = COORDINATE | {May.APPROVE, May.APPOINT}
OVERSEE = {May.OWN_RECORD, May.DRAFT, May.APPROVE, May.READ_SITE, May.READ_BINDER}
NOTHING: set[May] = set()
# who: what they may at High Street, what at Ferry Lane
TABLE: dict[str, tuple[set[May], set[May]]] = {
    "owner": (OWN, OWN),
    "coordinator": (COORDINATE, NOTHING),
    "supervisor": (SUPERVISE, NOTHING),
    "assistant": (DUTY, NOTHING),
    "hygienist": (DUTY, NOTHING),
    "officer": (OVERSEE, OVERSEE),
    "elsewhere": (NOTHING, DUTY),
    "inspector": ({May.READ_BINDER}, NOTHING),
}
WELL_ANSWERED = {200, 302}
# Doors that are open to a role, behind which the row itself decides; each with what it then answers, and why.
ROW_DECIDES = {
    "training:take_back": {403},  # only one's own record, or as the one who answers for its kind
    "training:pass_end": {404},  # a pass of that site; the demo gave one, at High Street
    "training:requirement_end": {403},  # one of every site is ended by whoever may at every site
    "training:correct": {403},  # only by whoever watched
    "training:binder_job": {403},  # asked for by people who may read binders
    "training:binder_pack": {403},  # saved by people who may read binders and the site
    "training:account_slip": {404},  # printed with the code that was just made, never again
    "clinic:event_filed": {404},  # shown to whoever just filed it
}
# Addresses that one may also use for another site of one's own.
ALSO_ELSEWHERE = {"clinic:role_end"}  # a coordinator of both sites moves people between them

pytestmark = pytest.mark.django_db


def expected(address: Address, may: set[May]) -> set[int]:
    """What somebody who may do these things at the site is answered."""
    if not may:
        return {404}
    return WELL_ANSWERED if address.any_of and address.any_of & may else {403}


def site_addresses() -> Iterator[Address]:
    return filter(lambda each: each.at_site, addresses())


def statuses(looker: Looker, urls: list[str]) -> dict[str, int]:
    """What each address answers. When all were looked at, those that only take what is sent are sent nothing."""
    looked = {url: looker.get(url).status_code for url in urls}
    return {url: looker.client.post(url).status_code if code == 405 else code for url, code in looked.items()}


def wrong_answers(looker: Looker, demo: Demo, who: str, site: Site, may: set[May]) -> list[str]:
    """Whoever reads the site opens the pages of somebody of whom much is recorded; everybody else their own."""
    person = demo.subject(site) if May.READ_SITE in may else getattr(demo, who).person
    links = [(address, link(address, site, person)) for address in site_addresses()]
    answered, found = statuses(looker, [url for _, url in links]), []
    for address, url in links:
        status, wanted = answered[url], expected(address, may)
        if wanted is WELL_ANSWERED:
            wanted = wanted | ROW_DECIDES.get(address.name, set()) | (set() if May.READ_SITE in may else {404})
        if status not in wanted:
            found.append(f"{who} at {address.name} {url}: {status}, not {sorted(wanted)}")
    return found


def test_every_address_has_a_door_or_is_named_as_public() -> None:
    assert {each.name for each in addresses() if each.any_of is None} == PUBLIC | OWN_ACCOUNT


def test_the_walk_sees_every_address_once() -> None:
    names = [each.name for each in addresses()]
    assert len(names) == len(set(names)), "two addresses have one name"
    assert len(names) == ADDRESSES


@pytest.mark.parametrize("who", TABLE)
def test_the_policy_is_the_table(demo: Demo, who: str) -> None:
    allowed = Allowed(getattr(demo, who).person)
    assert tuple(allowed.verbs.get(site.pk, set()) for site in (demo.high_street, demo.ferry_lane)) == TABLE[who]


@pytest.mark.parametrize("who", TABLE)
def test_every_address_answers_each_role_as_its_door_says(
    demo: Demo, looking: Callable[[str], Looker], who: str
) -> None:
    looker, (here, there) = looking(who), TABLE[who]
    found = wrong_answers(looker, demo, who, demo.high_street, here)
    found += wrong_answers(looker, demo, who, demo.ferry_lane, there)
    assert not found, "\n".join(found)


def test_a_stranger_is_sent_to_the_sign_in(demo: Demo, client: Client) -> None:
    for address in site_addresses():
        url = link(address, demo.high_street, demo.assistant.person)
        told: Any = client.post(url) if client.get(url).status_code == 405 else client.get(url)
        assert (told.status_code, told.url.split("?")[0]) == (302, "/sign-in/"), address.name


@pytest.mark.parametrize("who", ["owner", "coordinator", "supervisor", "officer", "assistant"])
def test_a_row_of_another_site_is_not_found_under_ones_own_address(demo: Demo, signed_in: Any, who: str) -> None:
    client, walked = signed_in(getattr(demo, who)), {}
    for address in site_addresses():
        url = row_of_other_site(address, demo.high_street, demo.ferry_lane, demo.subject(demo.ferry_lane))
        if url and address.name not in ALSO_ELSEWHERE:
            walked[url] = {client.get(url).status_code, client.post(url).status_code} - {405}
    seen = {url: found for url, found in walked.items() if not found <= {403, 404}}
    assert not seen, "\n".join(f"{url}: {found}" for url, found in seen.items())
    assert len(walked) > 30


@pytest.mark.parametrize("verb", May)
def test_asked_backward_the_policy_gives_the_same_answer(demo: Demo, verb: May) -> None:
    for site, place in ((demo.high_street, 0), (demo.ferry_lane, 1)):
        keys = {key for source in SOURCES for key in source.backward(verb, site, TODAY)}
        for who, may in TABLE.items():
            assert (getattr(demo, who).person.pk in keys) == (verb in may[place]), who


def pages(owner: Looker, demo: Demo) -> Iterator[tuple[str, Seen]]:
    """Every address that answers the owner of the practice with a page."""
    for address in site_addresses():
        url = link(address, demo.high_street, demo.subject(demo.high_street))
        if (page := owner.get(url)).is_page:
            yield url, page


def test_every_page_has_one_h1_and_a_title(demo: Demo, looking: Callable[[str], Looker]) -> None:
    walked = {url: faults(page.text) for url, page in pages(looking("owner"), demo)}
    assert {url: found for url, found in walked.items() if found} == {}
    assert len(walked) > 80


def test_no_page_asks_more_of_the_database_with_100_people_than_with_10(
    demo: Demo, looking: Callable[[str], Looker]
) -> None:
    looker = looking("owner")
    client = looker.client
    urls = [url for url, _ in pages(looker, demo)]  # drawn once already: what a process asks only once is no question
    crowd(demo, 10)
    with_10 = questions(client, urls)
    crowd(demo, 90)
    with_100 = questions(client, urls)
    assert {url: (with_10[url], with_100[url]) for url in urls if with_100[url] > with_10[url]} == {}


@door(May.DUTY)
def made_up_view(request: HttpRequest, site: Site) -> HttpResponse:
    return HttpResponse("open")


def test_an_address_without_a_door_would_be_found() -> None:
    patterns = [path("<slug:site>/a/", made_up_view, name="a"), path("b/", lambda request: HttpResponse(), name="b")]
    made_up = {each.name: each for each in addresses(patterns)}
    assert (made_up["a"].any_of, made_up["b"].any_of) == (frozenset({May.DUTY}), None)
    assert (expected(made_up["a"], DUTY), expected(made_up["a"], {May.SIGN})) == (WELL_ANSWERED, {403})


@pytest.mark.parametrize(
    "html", ["<html><title>x</title>", "<html><h1>a</h1><h1>b</h1><title>x</title>", "<html><h1>a</h1>"]
)
def test_a_page_without_h1_or_title_would_be_found(html: str) -> None:
    assert faults(html)
