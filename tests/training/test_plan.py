"""The plan: in prerequisite order, with due days, what is missing and the earliest finish."""

from datetime import date, timedelta
from typing import Any

import pytest

from clinic.actions.people import give_role, job_role
from clinic.models import Absence
from tests.cast import REGISTER_START
from tests.training.people_scene import TODAY, Scene, carried, founded, watched
from training.actions.requirements import require
from training.reads.plan import plan_rows, required_of, training_of
from training.reads.teaching import possible
from training.rules.teaching import TURNS

pytestmark = pytest.mark.django_db


def rows(scene: Scene, day: date = TODAY) -> Any:
    return plan_rows(training_of(scene.cast.assistant.person, day))


def test_prerequisites_come_first(scene: Scene) -> None:
    assert [row.code for row in rows(scene)] == ["P01", "P04", "P03"]


def test_the_due_day_is_the_latest_start_plus_the_days_allowed(scene: Scene) -> None:
    assert {row.line.due for row in rows(scene)} == {REGISTER_START + timedelta(days=90)}


def test_two_distinct_days_put_the_earliest_finish_a_day_on(scene: Scene) -> None:
    finishes = {row.code: row.line.earliest_finish for row in rows(scene)}
    assert finishes == {"P01": TODAY, "P04": TODAY, "P03": TODAY + timedelta(days=1)}


def test_what_is_missing_is_said_with_what_supplies_it(scene: Scene) -> None:
    swap = rows(scene)[2]
    assert ("The knowledge check is not passed.", "Pass the knowledge check.") in [
        (p.says, p.supply) for p in swap.missing
    ]


def test_what_is_done_leaves_the_list(scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", date(2025, 6, 1))
    assert [row.code for row in rows(scene) if not row.line.is_done] == ["P04", "P03"]


def test_a_requirement_of_another_site_asks_nothing_here(scene: Scene) -> None:
    extra = job_role(scene.cast.organisation, "Driver")
    require(
        extra,
        scene.procedures["P01"],
        REGISTER_START,
        site=scene.cast.court,
        at=scene.cast.court,
        by=scene.cast.owner.person,
    )
    give_role(scene.cast.second.person, scene.cast.lane, extra, REGISTER_START, by=scene.cast.coordinator.person)
    assert required_of([scene.cast.second.person], TODAY)[scene.cast.second.person.pk] == []


def test_a_role_that_starts_later_is_due_later(scene: Scene) -> None:
    role = job_role(scene.cast.organisation, "Dental assistant")
    give_role(scene.cast.second.person, scene.cast.lane, role, TODAY, by=scene.cast.coordinator.person)
    due = {one.due for one in required_of([scene.cast.second.person], TODAY)[scene.cast.second.person.pk]}
    assert due == {TODAY + timedelta(days=90)}


def test_everybody_reads_their_own_plan(signed_in: Any, scene: Scene) -> None:
    answer = signed_in(scene.cast.assistant).get(f"/millbrook-lane/people/{scene.cast.assistant.person.pk}/plan/")
    html = " ".join(answer.content.decode().split())
    assert "for you to master, in this order" in html
    assert "Next: Hand care (P01), due by 6 April 2025." in html


def test_overdue_is_said_first(signed_in: Any, scene: Scene) -> None:
    url = f"/millbrook-lane/people/{scene.cast.assistant.person.pk}/plan/?day=7+Apr+2025"
    assert (
        '3 overdue</span>, <span data-counts="to-do">3 to master</span> in all.'
        in signed_in(scene.cast.coordinator).get(url).content.decode()
    )


def test_evidence_enough_says_that_it_can_be_signed(scene: Scene) -> None:
    watched(scene, scene.cast.assistant.person, "P01", date(2025, 2, 3))
    assert rows(scene)[0].says == "Everything is there: it can be signed."


def test_somebody_asked_for_nothing_is_told_so(signed_in: Any, scene: Scene) -> None:
    answer = signed_in(scene.cast.owner).get(f"/millbrook-lane/people/{scene.cast.owner.person.pk}/plan/")
    assert "The job needs nothing." in answer.content.decode()


def test_the_earliest_finish_is_a_day_on_which_both_are_at_work(scene: Scene, signed_in: Any) -> None:
    """Told by the page: what the rule alone says is not possible while whoever may watch is away. Four turns at the unit fill
    the first day: trying and being watched in the two that come first."""
    founded(scene, scene.cast.supervisor.person, "P01", "P04", "P03")
    back = TODAY + timedelta(days=10)
    Absence.objects.create(person=scene.cast.supervisor.person, from_day=TODAY, to_day=back - timedelta(days=1))
    found = possible(training_of(scene.cast.assistant.person, TODAY), scene.cast.lane)
    finishes = {line.procedure: line.earliest_finish for line in found.lines}
    assert found.crew is not None
    days = found.crew.watch_days("P01", TODAY)
    assert finishes["P01"] == finishes["P04"] == days[0] >= back and finishes["P03"] == days[2]
    assert all(day.weekday() < 5 for day in days) or "1" in scene.cast.lane.working_days[5:]
    page = signed_in(scene.cast.assistant).get(f"/millbrook-lane/people/{scene.cast.assistant.person.pk}/plan/")
    shown = {row.code: row.line.earliest_finish for row in page.context["to_do"]}
    assert shown == finishes


def test_a_turn_that_was_had_today_in_what_is_held_is_not_given_again(scene: Scene) -> None:
    """Four turns a day: whoever had them in what they may do alone begins the next thing tomorrow."""
    me, day = scene.cast.assistant.person, TODAY
    founded(scene, scene.cast.supervisor.person, "P01", "P04", "P03")
    carried(scene, me, "P01", date(2025, 6, 1))
    free = possible(training_of(me, day), scene.cast.lane).lines
    for _ in range(4):
        watched(scene, me, "P01", day)
    full = possible(training_of(me, day), scene.cast.lane).lines
    assert next(line.procedure for line in free if not line.is_done) == "P04"
    assert next(line.lessons[0].day for line in free if line.lessons) == day
    assert all(lesson.day > day for line in full for lesson in line.lessons if lesson.part in TURNS)
