"""The pages of judging are offered where they are wanted, and only to whom they open."""

import re
from collections.abc import Callable
from typing import Any

import pytest

from tests.demo import MEMBERS, Demo
from tests.demo_practice.looker import Looker

pytestmark = pytest.mark.django_db
FROM = ("today", "observe", "observe/week", "audit", "audit/owner", "audit/coverage", "audit/agreement")
TO = re.compile(r'href="(/[^"#?]+(?:/owner|/coverage|/agreement|/safeguards|/week|/learning|/who-may|/second|/days)/)"')


def offered(looker: Looker, site: str, person: Any) -> set[str]:
    """Links to judging on the pages that open for the one who looks, and on their own page."""
    opened = [looker.get(f"/{site}/{page}/") for page in (*FROM, f"people/{person.pk}")]
    return {href for page in opened if page.is_page for href in TO.findall(page.text)}


@pytest.mark.parametrize("who", MEMBERS)
def test_no_page_offers_a_page_of_judging_that_then_refuses(
    demo: Demo, looking: Callable[[str], Looker], who: str
) -> None:
    looker, site = looking(who), "ferry-lane" if who == "elsewhere" else "high-street"
    answers = {href: looker.get(href).status_code for href in offered(looker, site, getattr(demo, who).person)}
    assert {href: status for href, status in answers.items() if status != 200} == {}


def test_the_owner_is_led_to_every_page_of_judging(demo: Demo, looking: Callable[[str], Looker]) -> None:
    links = offered(looking("owner"), "high-street", demo.owner.person)
    ends = {href.rstrip("/").rsplit("/", 1)[-1] for href in links}
    assert {"owner", "coverage", "agreement", "safeguards", "week", "learning", "who-may"} <= ends
