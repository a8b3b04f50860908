"""The walk over who may: site × procedure × who holds what × act, each act tried by its action with somebody's name and
taken back again. What the policy answers is held against the table in `tests.rights.acts`, written a second time in words.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from typing import Any

import pytest
from django.db import transaction
from django.urls import reverse

from clinic import rights
from clinic.actions import people
from clinic.models import Person
from clinic.permissions import May
from clinic.record import Refused
from clinic.rights import RecordingRight, here
from tests.cast import Cast, Member
from tests.rights.acts import ACTS, OF_SITES, Act, may
from tests.rights.world import CODES, HOLDS, SITES, World, at_noon, build, without_timelines
from training.models import FoundingGrant

pytestmark = [pytest.mark.django_db, pytest.mark.one_database]  # the policy is the same on both
CASES = 4064  # exact: an act, a post or a site that goes missing is a hole in the walk


@pytest.fixture(scope="module")
def the_world(the_cast: Cast, django_db_blocker: Any) -> Iterator[World]:
    with django_db_blocker.unblock():
        with without_timelines():
            built = build(the_cast)
        yield built


@pytest.fixture
def world(the_world: World, db: None) -> Iterator[World]:
    with at_noon(), without_timelines():
        yield the_world


def cases(who: str) -> Iterator[tuple[Act, str, str, str]]:
    """Every act × site × procedure for somebody; an act of no procedure once for a site."""
    yield from ((act, who, site, code) for act, site, code in product(ACTS, SITES, CODES))
    yield from ((act, who, site, "") for act, site in product(OF_SITES, SITES))


def done(world: World, act: Act, who: str, site: str, code: str) -> bool:
    """Whether the action does it for them. Whatever it did is taken back."""
    by = Person.objects.get(pk=world.actors[who].pk)
    with transaction.atomic():
        try:
            act.do(world, by, site, code)
            return True
        except Refused:
            return False
        finally:
            transaction.set_rollback(True)


def wrong(world: World, who: str, acts: Any = None) -> list[str]:
    """Every case in which the action and the table say different things."""
    found = []
    for act, name, site, code in cases(who):
        if acts is not None and act.name not in acts:
            continue
        if done(world, act, name, site, code) != (wanted := may(act, name, site, code)):
            found.append(
                f"{name} at {site}{f' in {code}' if code else ''}: {act.name}, and {'may' if wanted else 'may not'}"
            )
    return found


@pytest.mark.parametrize("who", HOLDS)
def test_every_act_is_done_by_whoever_may_and_by_nobody_else(world: World, who: str) -> None:
    found = wrong(world, who)
    assert not found, "\n".join(found)


def test_the_walk_tries_every_case(capsys: pytest.CaptureFixture[str]) -> None:
    tried = sum(len(list(cases(who))) for who in HOLDS)
    with capsys.disabled():
        print(f"\nwho may: {tried} cases of site × procedure × {len(HOLDS)} people × {len(ACTS) + len(OF_SITES)} acts")
    assert tried == CASES


def test_every_act_is_done_by_somebody_unless_it_is_nobodys() -> None:
    able = {act.name for who in HOLDS for act, *case in cases(who) if may(act, *case)}
    assert {act.name for act in [*ACTS, *OF_SITES]} - able == {
        act.name for act in [*ACTS, *OF_SITES] if act.needs == "nobody"
    }


# The walk can fail: each hole that stood open once is opened again, and found.


def opened(monkeypatch: pytest.MonkeyPatch, kind: str, **how: Any) -> None:
    monkeypatch.setitem(rights.KINDS, kind, replace(rights.KINDS[kind], **how))


def test_undoing_a_withdrawal_with_authority_for_another_procedure_would_be_found(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened(monkeypatch, "training.withdrawal", put_right=here(May.SIGN))
    assert wrong(world, "lane P01", {"undo a withdrawal"}) == [
        "lane P01 at lane in P06: undo a withdrawal, and may not"
    ]


def test_retiring_what_two_sites_share_by_the_owner_of_one_would_be_found(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened(monkeypatch, "training.retirement", record=here(May.APPROVE))
    found = wrong(world, "lane owner", {"retire what two sites share"})
    assert len(found) == len(CODES) and all("at lane" in each for each in found)


def test_an_owner_of_one_site_who_appoints_everywhere_would_be_found(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(rights.CHANGES, "clinic.appointment", here(May.APPOINT))
    found = wrong(world, "lane owner", {"appoint at every site", "appoint oneself here"})
    assert "lane owner at lane: appoint at every site, and may not" in found
    assert "lane owner at lane: appoint oneself here, and may not" in found


def test_a_policy_that_lets_nobody_do_anything_would_be_found(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    opened(monkeypatch, "training.signoff", record=rights.Nobody("No."))
    assert len(wrong(world, "lane P01 and P06", {"sign off"})) == len(CODES)


# One step past the walk.


def test_authority_that_was_taken_back_takes_nothing_back_any_more(world: World) -> None:
    """Putting right asks the same right as doing: also of whoever recorded it."""
    act = next(act for act in ACTS if act.name == "observe")
    by = world.actors["lane P06"]
    seen = act.do(world, by, "lane", "P06")
    kind: RecordingRight = rights.KINDS["training.observation"]
    assert kind.put_right.against(by, seen, seen.site) is None
    grant = FoundingGrant.objects.live().get(person=by)
    rights_of_owner = next(act for act in ACTS if act.name == "take a founding grant back")
    world.rows["founding", "lane", "P06"], kept = grant, world.rows["founding", "lane", "P06"]
    rights_of_owner.do(world, world.actors["owner"], "lane", "P06")
    world.rows["founding", "lane", "P06"] = kept
    assert "no authority" in str(kind.put_right.against(by, seen, seen.site))


def test_asked_backward_the_policy_names_whoever_may_put_right(world: World) -> None:
    """Who may, asked of every actor, is who the page names."""
    for (kind, *where), row in world.rows.items():
        if not hasattr(row, "recorded_by_id"):
            continue
        named = {person.pk for person in rights.who_puts_right(row, row.happened_on)}
        for who, person in world.actors.items():
            asked = rights.against_putting_right(person, row) is None
            assert asked == (person.pk in named), (kind, where, who)


def test_a_page_says_who_puts_its_record_right(world: World, signed_in: Any) -> None:
    """The button for whoever may, the names for whoever may not, and nothing about it for an inspector."""
    row = world.rows["withdrawal", "lane", "P06"]
    page = reverse("training:fact", args=["millbrook-lane", row.pk])
    shown = {}
    for who in ("lane P06", "lane P01"):
        account, _ = people.open_account(world.actors[who], by=None, identity_checked="Known for years.")
        shown[who] = signed_in(Member(world.actors[who], account)).get(page).content.decode()
    assert "take-back" in shown["lane P06"] and "take-back" not in shown["lane P01"]
    assert "Lane p06 Guest" in shown["lane P01"] and "may take it back" in shown["lane P01"]


def test_by_a_forged_address_nobody_undoes_a_withdrawal_in_another_procedure(world: World, signed_in: Any) -> None:
    account, _ = people.open_account(world.actors["lane P01"], by=None, identity_checked="Known for years.")
    client = signed_in(Member(world.actors["lane P01"], account))
    row = world.rows["withdrawal", "lane", "P06"]
    there = world.rows["withdrawal", "court", "P01"]
    for fact, status in ((row, 403), (there, 404)):
        address = reverse("training:take_back", args=["millbrook-lane", fact.pk])
        assert {client.get(address).status_code, client.post(address, {"reason": "No."}).status_code} == {status}
