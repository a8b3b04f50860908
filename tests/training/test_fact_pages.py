"""The page of a fact: sentences with local time, linked evidence, when it was written, who signed, and whether its seal holds."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest

from clinic.record import record, void
from tests.cast import Cast
from tests.fixtures import lift_refusals
from tests.house.counts import Node, parsed
from tests.training.bench import Bench, at, proved
from tests.training.people_scene import TODAY, Scene, watched
from training.actions.putting_right import TAKEN_BACK, take_back
from training.models import Observation, SignOff
from training.reads.fact_words import WRITERS, plain, words_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def signed(bench: Bench) -> SignOff:
    return bench.signed()


def main_of(client: Any, fact: Any) -> Node:
    answer = client.get(f"/{fact.site.code}/facts/{fact.pk}/")
    assert answer.status_code == 200
    return next(node for node in parsed(answer.content.decode()).walk() if node.tag == "main")


def links(node: Node) -> set[str]:
    return {each.attrs["href"] for each in node.walk() if each.tag == "a"}


def test_a_sign_off_says_who_may_do_what_who_signed_and_leads_to_its_evidence(
    signed: SignOff, signed_in: Any, cast: Cast
) -> None:
    with at(6):
        page = main_of(signed_in(cast.owner), signed)
    assert f"{signed.person} was signed off in {signed.version.procedure} on " in page.text
    assert f"printed name: {signed.signer_name}" in page.text
    assert signed.meaning in page.text
    assert {f"/{signed.site.code}/facts/{key}/" for key in signed.evidence} <= links(page)
    assert f"/{signed.site.code}/people/{signed.person_id}/" in links(page)


def test_its_evidence_is_named_by_its_own_first_sentence(signed: SignOff, signed_in: Any, cast: Cast) -> None:
    with at(6):
        page = main_of(signed_in(cast.owner), signed)
    for seen in Observation.objects.filter(pk__in=signed.evidence):
        assert plain(words_of(seen).head) in page.text


def test_the_seal_says_that_it_holds_and_a_broken_one_that_it_does_not(
    signed: SignOff, signed_in: Any, cast: Cast
) -> None:
    with at(6):
        assert "Its seal is whole, as checked now" in main_of(signed_in(cast.owner), signed).text
        lift_refusals()
        SignOff.objects.filter(pk=signed.pk).update(statement="Something else.")
        assert "Its seal does not hold: the fact is not what was sealed." in main_of(signed_in(cast.owner), signed).text


def test_a_fact_written_later_says_on_which_day_and_how_much_later(scene: Scene, signed_in: Any) -> None:
    row = watched(scene, scene.cast.assistant.person, "P01", TODAY - timedelta(days=1))
    words = main_of(signed_in(scene.cast.owner), row).text
    assert "Written on 3 March 2025 at 12:00 (Europe/London time)" in words
    assert "1 day later than it is of" in words


def test_what_takes_a_fact_back_and_what_is_taken_back_lead_to_each_other(scene: Scene, signed_in: Any) -> None:
    row = watched(scene, scene.cast.assistant.person, "P01", TODAY)
    later = void(row, by=scene.cast.supervisor.person, reason="The wrong person")
    client = signed_in(scene.cast.owner)
    wrong, right = main_of(client, row), main_of(client, later)
    assert "It no longer counts: the taking back of 3 March 2025 says why. The wrong person." in wrong.text
    assert f"/{row.site.code}/facts/{row.pk}/" in links(right)
    assert "Observation of 3 March 2025 was taken back on 3 March 2025" in right.text


def test_practice_is_never_met(scene: Scene, signed_in: Any) -> None:
    seen = watched(scene, scene.cast.assistant.person, "P01", TODAY)
    seen.pk, seen.purpose = uuid4(), Observation.Purpose.PRACTICE
    row = record(seen, by=scene.cast.supervisor.person)
    head = next(node for node in main_of(signed_in(scene.cast.owner), row).walk() if node.tag == "h1").text
    assert head.endswith(": practised; nothing missed.")


def test_whoever_reads_only_their_own_is_led_to_no_page_of_others(signed: SignOff, signed_in: Any, cast: Cast) -> None:
    client = signed_in(cast.assistant)
    with at(6):
        found = {href: client.get(href).status_code for href in links(main_of(client, signed))}
    assert found and set(found.values()) == {200}


def test_the_signature_beside_a_fact_is_said_with_name_time_and_meaning(scene: Scene, signed_in: Any) -> None:
    """Row E-13: printed name, day and time, meaning."""
    row = watched(scene, scene.cast.assistant.person, "P01", TODAY)
    later = take_back(row, "The wrong person", by=scene.cast.supervisor.person, proved=proved())
    words = main_of(signed_in(scene.cast.owner), later).text
    assert f"Signed by {scene.cast.supervisor.person} on 3 March 2025 at 12:00 (Europe/London time)" in words
    assert f"Meaning: {TAKEN_BACK}" in words


@pytest.mark.parametrize("kind", sorted(WRITERS))
def test_a_kind_is_called_by_words_that_people_use(kind: str) -> None:
    name = WRITERS[kind].name
    assert name == name.strip() and "_" not in name and not name.endswith(".")
