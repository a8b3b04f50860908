"""What stands on every page leads somewhere for whoever sees it: nobody is offered a page that then refuses them."""

import re
from collections.abc import Callable

import pytest

from tests.demo import MEMBERS
from tests.demo_practice.looker import Looker

pytestmark = pytest.mark.django_db
OFFERED = re.compile(r'<(?:header class="strip"|nav class="rail").*?</(?:header|nav)>', re.DOTALL)


def offered(html: str) -> set[str]:
    """The addresses in the strip and in the rail."""
    return {href for part in OFFERED.findall(html) for href in re.findall(r'<a [^>]*href="(/[^"]+)"', part)}


@pytest.mark.parametrize("who", MEMBERS)
def test_strip_and_rail_offer_only_what_opens(looking: Callable[[str], Looker], who: str) -> None:
    looker, site = looking(who), "ferry-lane" if who == "elsewhere" else "high-street"
    links = offered(looker.get(f"/{site}/today/").text)
    answers = {href: looker.get(href).status_code for href in links}
    assert {href: status for href, status in answers.items() if status not in (200, 302)} == {}
    assert len(links) >= 2


def test_an_inspector_reads_how_many_binders_are_open_and_is_offered_nothing_else(
    looking: Callable[[str], Looker],
) -> None:
    html = looking("inspector").get("/high-street/today/").text
    assert "One binder is open to you." in html
    assert offered(html) == {"/high-street/today/", "/high-street/audit/binders/", "/account/"}
