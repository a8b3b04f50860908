"""Every page that the owner may see has one first sentence and a title, and costs no more questions with 300 people than
with 30."""

import re
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from clinic.models import JobRole, Person, RoleHeld
from tests.cast import REGISTER_START, Cast
from tests.house.addresses import Address, addresses, link
from training.models import EvidenceSpan, Procedure, StandingSpan

FEWEST_PAGES = 0  # raised as pages appear

pytestmark = pytest.mark.django_db


def pages(client: Client, cast: Cast) -> Iterator[tuple[Address, str, Any]]:
    """Every address that answers the owner of the practice with a page."""
    for address in addresses():
        if address.at_site:
            url = link(address, cast.lane, cast.owner.person)
            answer = client.get(url)
            if answer.status_code == 200 and answer.headers["Content-Type"].startswith("text/html"):
                yield address, url, answer


def faults(html: str) -> list[str]:
    """What a page lacks of one h1 with words and a title with words. A part drawn alone (htmx) is no page."""
    if "<html" not in html:
        return []
    headings = re.findall(r"<h1\b[^>]*>(.*?)</h1>", html, re.S)
    title = re.search(r"<title>\s*\S.*?</title>", html, re.S)
    words = [heading for heading in headings if re.sub(r"<[^>]+>|\s", "", heading)]
    return [f"{len(words)} h1 with words"] * (len(words) != 1) + ["no title"] * (title is None)


def test_every_page_has_one_h1_and_a_title(cast: Cast, signed_in: Any) -> None:
    walked = {url: faults(answer.content.decode()) for _, url, answer in pages(signed_in(cast.owner), cast)}
    assert {url: found for url, found in walked.items() if found} == {}
    assert len(walked) >= FEWEST_PAGES


@pytest.mark.parametrize(
    "html", ["<html><title>x</title>", "<html><h1>a</h1><h1>b</h1><title>x</title>", "<html><h1>a</h1>"]
)
def test_a_page_without_them_would_be_found(html: str) -> None:
    assert faults(html)


def crowd(cast: Cast, size: int) -> None:
    """More people at Millbrook Lane, each with a role and a standing in every procedure there is."""
    role = JobRole.objects.filter(organisation=cast.organisation).first()
    people = Person.objects.bulk_create(
        Person(organisation=cast.organisation, home_site=cast.lane, given_name=f"Guest {n}", family_name=f"Of {size}")
        for n in range(size)
    )
    RoleHeld.objects.bulk_create(
        RoleHeld(person=person, site=cast.lane, job_role=role, from_day=REGISTER_START) for person in people
    )
    pairs = [(person, procedure) for person in people for procedure in Procedure.objects.of(cast.organisation)]
    span = {"first": REGISTER_START, "after": None, "state": "current", "usable": True, "basis": "observed"}
    ends = {"ends_on": REGISTER_START + timedelta(days=4000), "ends_because": "valid until"}
    StandingSpan.objects.bulk_create(StandingSpan(person=who, procedure=what, **span, **ends) for who, what in pairs)
    EvidenceSpan.objects.bulk_create(
        EvidenceSpan(person=who, procedure=what, first=REGISTER_START, evidence="some") for who, what in pairs
    )


def questions(client: Client, urls: list[str]) -> dict[str, int]:
    """How many questions each page asks the database, the second time it is drawn."""
    asked = {}
    for url in urls:
        client.get(url)
        with CaptureQueriesContext(connection) as seen:
            client.get(url)
        asked[url] = len(seen)
    return asked


def test_no_page_asks_more_of_the_database_with_300_people_than_with_30(cast: Cast, signed_in: Any) -> None:
    client = signed_in(cast.owner)
    urls = [url for _, url, _ in pages(client, cast)]
    crowd(cast, 30)
    with_30 = questions(client, urls)
    crowd(cast, 270)
    with_300 = questions(client, urls)
    dearer = {url: (with_30[url], with_300[url]) for url in urls if with_300[url] > with_30[url]}
    assert dearer == {}
