"""A page shows the newest facts of a person and leads to the ones before, so that all of them are found and none twice."""

from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import pytest

from clinic.record import void
from tests.training.people_scene import TODAY, Scene, carried, founded, watched
from training.models import Observation
from training.reads.person_facts import A_PAGE, FactLine, FactsShown, facts_of, facts_shown
from training.spans import many_facts

pytestmark = pytest.mark.django_db
LONG_AGO = TODAY - timedelta(days=40)


@pytest.fixture
def busy(scene: Scene) -> Scene:
    """Seen now and then, and on one day more often than a page has lines."""
    who = scene.cast.assistant.person
    carried(scene, who, "P01", date(2025, 6, 1))
    founded(scene, who, "P03", "P04")
    with many_facts():
        for number in range(A_PAGE // 2):
            watched(scene, who, ("P01", "P03")[number % 2], TODAY - timedelta(days=number // 2))
        for _ in range(A_PAGE + 5):
            watched(scene, who, "P04", LONG_AGO)
        watched(scene, who, "P03", LONG_AGO - timedelta(days=1))
        void(watched(scene, who, "P03", LONG_AGO - timedelta(days=2)), by=scene.cast.supervisor.person, reason="No.")
    return scene


def walk(scene: Scene, code: str | None = None) -> list[FactsShown]:
    """Every page of the list, the newest first."""
    pages, through = [], None
    while True:
        pages.append(facts_shown(scene.cast.assistant.person, code, through=through))
        if (through := pages[-1].earlier) is None:
            return pages


def lines(pages: list[FactsShown]) -> list[FactLine]:
    return [line for page in pages for line in page.lines]


@pytest.mark.parametrize("code", [None, "P03", "P04"])
def test_all_pages_together_are_the_whole_list(busy: Scene, code: str | None) -> None:
    pages = walk(busy, code)
    assert lines(pages) == facts_of(busy.cast.assistant.person, code)
    assert len(pages) == {None: 2, "P03": 1, "P04": 2}[code]


def test_a_day_is_never_parted(busy: Scene) -> None:
    pages = walk(busy)
    days = [{line.day for line in page.lines} for page in pages]
    assert not any(one & other for one, other in pairwise(days))
    assert max(len(page.lines) for page in pages) > A_PAGE, "No day was longer than a page."


def test_what_a_sign_off_rests_on_is_there_however_old(busy: Scene) -> None:
    old = Observation.objects.earliest("happened_on", "pk")
    shown = facts_shown(busy.cast.assistant.person, old.version.procedure.code, through=TODAY, these=[old.pk])
    assert [line.id for line in shown.these] == [old.pk]


def test_what_was_known_by_then_is_all_that_is_there(busy: Scene) -> None:
    who, by = busy.cast.assistant.person, Observation.objects.earliest("recorded_at").recorded_at
    shown = facts_shown(who, known_by=by)
    assert shown.earlier is None and shown.lines == facts_of(who, known_by=by) != facts_of(who)


def test_the_page_leads_to_the_ones_before_and_back(signed_in: Any, busy: Scene) -> None:
    client, who = signed_in(busy.cast.supervisor), busy.cast.assistant.person
    newest = client.get(f"/millbrook-lane/people/{who.pk}/")
    assert "facts=21%20Jan%202025#facts" in newest.content.decode(), newest.context["page"].recorded.earlier
    before = client.get(f"/millbrook-lane/people/{who.pk}/?facts=21%20Jan%202025").content.decode()
    assert "The newest</a>" in before and "Nothing is recorded" not in before
    nothing = client.get(f"/millbrook-lane/people/{who.pk}/P03/?facts=1%20Jan%202020").content.decode()
    assert "Nothing is recorded through 1 January 2020." in nothing
