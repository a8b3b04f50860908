"""What falls is said before the press, and is what is true after it."""

from datetime import date, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.urls import reverse

from clinic.actions.people import leave
from clinic.actions.upkeep import close_site, log_entry
from clinic.models import Closure, Person, SiteFact
from clinic.reads.consequences import closing_falls
from clinic.reads.upkeep import everything, unit_tasks
from clinic.rules.consequences import FallsDue, closed_words
from clinic.rules.spans import on
from tests.cast import Cast
from tests.training.bench import Bench, at, proved, set_up
from tests.training.people_scene import TODAY, Scene, carried
from training.actions.grants import end_authority, grant_authority
from training.actions.signing import withdraw
from training.actions.versions import approve, save_draft, start_draft, submit
from training.models import Draft, StandingSpan
from training.permissions import authorised
from training.reads.consequences import (
    authority_lost,
    closing_ends,
    drafts_consequences,
    falls_of_drafts,
    leaving_lost,
    withdrawal_falls,
)

pytestmark = pytest.mark.django_db
DAY = date(2025, 2, 20)


def last_days(day: date) -> dict[tuple[str, str], date | None]:
    """Who may do what alone on the day, and through when, as stored."""
    rows = StandingSpan.objects.on(day).usable().select_related("procedure")
    return {(str(row.person_id), row.procedure.code): row.ends_on for row in rows}


def submitted(bench: Bench, **policy: Any) -> Draft:
    draft = start_draft(bench.procedure, by=bench.cast.coordinator.person)
    by = bench.cast.coordinator.person
    SiteFact.objects.get_or_create(name="stopped sign", of="milling unit", ask="?", question=1)
    policy = {"window_days": 400, "renewal_needed": 1} | policy
    return submit(save_draft(draft, draft.content, draft.policy | policy, "Water first.", by=by), by=by)


@pytest.mark.parametrize("days", [None, 1, 30, 400])
def test_what_an_approval_says_before_is_true_after(cast: Cast, days: int | None) -> None:
    bench = set_up(cast)
    bench.signed(6)
    with at(20):
        draft = submitted(bench, reobserve_days=days)
        said = {(one.person, one.code): one.last for one in falls_of_drafts([draft], DAY).get("P06", [])}
        before = last_days(DAY)
        approve(draft, DAY, site=cast.lane, by=cast.owner.person, proved=proved())
    after = last_days(DAY)
    assert {key: after.get(key) for key in before if after.get(key) != before[key]} == said
    assert bool(said) == (days in (1, 30))


def test_an_approval_names_who_must_be_watched_again_and_from_when_nobody_may(cast: Cast, signed_in: Any) -> None:
    bench = set_up(cast)
    bench.signed(6)
    with at(20):
        draft = submitted(bench, reobserve_days=30)
        said = " ".join(drafts_consequences([draft], cast.lane, DAY)["P06"])
        page = signed_in(cast.owner).get(reverse("training:draft_approve", args=["millbrook-lane", "P06"]))
    last = max(day for (_, code), day in last_days(DAY).items() if code == "P06" and day)
    assert last and "To be watched again by" in said and cast.assistant.person.printed_name in said
    assert "nobody at Millbrook Lane may do P06 alone after" in said
    assert all(words in page.content.decode() for words in ("What falls with it", "To be watched again by"))


def test_a_version_that_asks_nobody_again_says_so(cast: Cast) -> None:
    bench = set_up(cast)
    bench.signed(6)
    with at(20):
        says = drafts_consequences([submitted(bench, reobserve_days=None)], cast.lane, DAY)["P06"]
    assert says == ["Nobody has to be watched again for it: whoever may work alone goes on as now."]


@pytest.fixture
def held(scene: Scene) -> Scene:
    """The assistant may do all three alone, the second supervisor P01."""
    for code in ("P01", "P03", "P04"):
        carried(scene, scene.cast.assistant.person, code, TODAY + timedelta(days=60))
    carried(scene, scene.cast.second.person, "P01", TODAY + timedelta(days=60))
    return scene


@pytest.mark.parametrize("code", ["P01", "P03", "P04"])
def test_what_a_withdrawal_says_before_is_true_after(held: Scene, code: str, signed_in: Any) -> None:
    cast, who, what = held.cast, held.cast.assistant.person, held.procedures[code]
    said = {(one.person, one.code): one.last for one in withdrawal_falls(who, what, cast.lane)}
    before = last_days(TODAY)
    withdraw(who, what, "It went wrong.", site=cast.lane, by=cast.supervisor.person, proved=proved())
    after = last_days(TODAY)
    assert {key: after.get(key) for key in before if after.get(key) != before[key]} == said and said


def test_a_withdrawal_says_on_its_page_whether_anybody_is_left(held: Scene, signed_in: Any) -> None:
    def page(code: str) -> str:
        who = held.cast.assistant.person.pk
        address = reverse("training:withdraw", args=["millbrook-lane", who, code])
        return str(signed_in(held.cast.supervisor).get(address).content.decode())

    assert "Then nobody at Millbrook Lane may do P04 alone." in page("P04")
    assert "1 other person at Millbrook Lane may do P01 alone." in page("P01")


def may_sign(scene: Scene, code: str, day: date) -> set[UUID]:
    """The other way round: by procedure, those with authority who may do it alone."""
    usable = StandingSpan.objects.on(day).usable().filter(procedure__code=code).values_list("person", flat=True)
    return {p.pk for p in authorised(scene.procedures[code], scene.cast.lane, day)} & set(usable)


def test_what_ending_an_authority_says_before_is_true_after(held: Scene, signed_in: Any) -> None:
    cast = held.cast
    codes = ["P01", "P03"]
    row = grant_authority(cast.assistant.person, cast.lane, TODAY, None, by=cast.owner.person, procedures=codes)
    grant_authority(cast.second.person, cast.lane, TODAY, None, by=cast.owner.person, procedures=["P01"])
    said = authority_lost(row, cast.lane, TODAY)
    address = reverse("training:authority_end", args=["millbrook-lane", row.pk])
    assert (
        "Then nobody at Millbrook Lane may watch and sign: P03." in signed_in(cast.owner).get(address).content.decode()
    )
    end_authority(row, TODAY, "Moves on.", by=cast.owner.person)
    tomorrow = TODAY + timedelta(days=1)
    assert said == ["P03"] == [code for code in codes if not may_sign(held, code, tomorrow)]


def test_what_leaving_says_before_is_true_after(held: Scene, signed_in: Any) -> None:
    cast, who = held.cast, held.cast.assistant.person
    page = signed_in(cast.coordinator).get(reverse("clinic:person_leave", args=["millbrook-lane", who.pk]))
    do, sign = leaving_lost(who, cast.lane, TODAY)
    assert f"Then nobody at Millbrook Lane may do alone: {do[0]}" in page.content.decode() and "P01" not in do
    leave(who, TODAY, by=cast.owner.person)
    tomorrow = TODAY + timedelta(days=1)
    left = Person.objects.at_site(cast.lane, tomorrow)
    usable = StandingSpan.objects.on(tomorrow).usable().filter(person__in=left)
    codes = {code for code in held.procedures if not usable.filter(procedure__code=code).exists()}
    assert codes == set(do) and not sign


@pytest.mark.parametrize("days", [1, 60, 90])
def test_what_closing_the_site_says_of_people_is_true_when_it_opens(held: Scene, days: int) -> None:
    cast, after = held.cast, TODAY + timedelta(days=days + 1)
    said = {(one.person, one.code) for one in closing_ends(cast.lane, TODAY, after)}
    close_site(cast.lane, TODAY, after, by=cast.coordinator.person, reason="Builders")
    assert {key for key in last_days(TODAY) if key not in last_days(after)} == said
    assert bool(said) == (days >= 60)


def dues(cast: Cast) -> dict[Any, date | None]:
    """The last good day of each task of each unit, as it stands today."""
    tasks = unit_tasks(cast.lane, everything(cast.lane))
    return {f"{one.task.title}, {one.unit}": span.last_good for one in tasks if (span := on(one.spans, TODAY))}


def test_what_closing_the_site_says_of_upkeep_is_true_after(held: Scene, signed_in: Any) -> None:
    cast, client = held.cast, signed_in(held.cast.coordinator)
    who = cast.supervisor.person
    log_entry(cast.task, cast.unit, who, site=cast.lane, by=who, day=TODAY)
    first, last = TODAY + timedelta(days=2), TODAY + timedelta(days=4)
    before, said = dues(cast), " ".join(closing_falls(cast.lane, first, last + timedelta(days=1), TODAY))
    sent = {"submission": uuid4(), "first": f"{first:%-d %b %Y}", "last": f"{last:%-d %b %Y}", "reason": ""}
    page = client.post("/millbrook-lane/upkeep/closed-days/", sent).content.decode()
    assert "What falls with it" in page and not Closure.objects.exists()
    client.post("/millbrook-lane/upkeep/closed-days/", sent | {"seen": "on"})
    moved = {label for label, day in dues(cast).items() if day != before[label]}
    assert Closure.objects.count() == 1 and moved
    assert {label for label in before if f"{label}: good through" in said} == moved


def test_closed_days_that_touch_nothing_are_saved_at_once(held: Scene, signed_in: Any) -> None:
    first = TODAY + timedelta(days=2)
    sent = {"submission": uuid4(), "first": f"{first:%-d %b %Y}", "last": f"{first:%-d %b %Y}", "reason": ""}
    signed_in(held.cast.coordinator).post("/millbrook-lane/upkeep/closed-days/", sent)
    assert Closure.objects.count() == 1


def test_what_no_closed_day_moves_is_said() -> None:
    """T-10: a passing spore test only."""
    words = closed_words([], [FallsDue("Spore test, steriliser 1", date(2026, 3, 4))], [])
    assert words == ["Only a pass moves Spore test, steriliser 1: it is good through 4 March 2026 all the same."]
