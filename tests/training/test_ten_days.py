"""The next ten working days of a learner: on the site's open days, with whoever may, moved by what is missed and done."""

from datetime import date, timedelta
from typing import Any

import pytest

from clinic.actions.people import give_role, hire, job_role
from clinic.models import Absence, Closure, Person
from clinic.record import record
from tests.documents.reading import read, words
from tests.training.people_scene import TODAY, Scene, carried, founded, noon, watched
from training.reads.plan import plan_rows, training_of
from training.reads.teaching import TenDays, possible, ten_days

pytestmark = pytest.mark.django_db


def days_of(scene: Scene, day: date = TODAY) -> TenDays:
    return ten_days(scene.cast.assistant.person, scene.cast.lane, day)


def told(page: TenDays) -> dict[str, list[tuple[str, str]]]:
    return {one.day.isoformat(): [(each.code, each.says) for each in one.taught] for one in page.taught}


@pytest.fixture
def staffed(scene: Scene) -> Scene:
    founded(scene, scene.cast.supervisor.person, "P01", "P04", "P03")
    return scene


def test_the_first_days_go_from_showing_to_the_sign_off(staffed: Scene) -> None:
    name = staffed.cast.supervisor.person.printed_name
    every = f"Show, say why, let try, watch and sign off: {name}."
    assert told(days_of(staffed)) == {
        "2025-03-03": [("P01", every), ("P04", every)],
        "2025-03-04": [("P03", f"Show, say why, let try and watch: {name}.")],
        "2025-03-05": [("P03", f"Watch and sign off: {name}.")],
    }


def test_ten_working_days_leave_out_the_days_on_which_the_site_is_closed(staffed: Scene) -> None:
    lane = staffed.cast.lane
    with noon():
        record(
            Closure(site=lane, happened_on=TODAY, first=TODAY, after=TODAY + timedelta(days=2)),
            by=staffed.cast.coordinator.person,
        )
    days = [one.day for one in days_of(staffed).days]
    assert len(days) == 10 and days[0] == TODAY + timedelta(days=2)
    assert all(lane.working_days[day.weekday()] == "1" for day in days)


def test_a_day_that_the_learner_misses_says_so_and_moves_the_rest(staffed: Scene) -> None:
    Absence.objects.create(person=staffed.cast.assistant.person, from_day=TODAY, to_day=TODAY)
    page = days_of(staffed)
    assert page.days[0].is_away and not page.days[0].taught
    assert list(told(page)) == ["2025-03-04", "2025-03-05", "2025-03-06"]


def test_somebody_who_starts_later_begins_on_the_first_day_of_the_job(staffed: Scene) -> None:
    role, later = job_role(staffed.cast.organisation, "Dental assistant"), TODAY + timedelta(days=7)
    new = hire(
        Person(
            organisation=staffed.cast.organisation, home_site=staffed.cast.lane, given_name="Wren", family_name="Adair"
        ),
        by=staffed.cast.coordinator.person,
    )
    give_role(new, staffed.cast.lane, role, later, by=staffed.cast.coordinator.person)
    page = ten_days(new, staffed.cast.lane, TODAY)
    assert page.days[0].day == later and [one.code for one in page.days[0].taught] == ["P01", "P04"]


def test_what_is_done_falls_out(staffed: Scene) -> None:
    carried(staffed, staffed.cast.assistant.person, "P01", date(2025, 6, 1))
    watched(staffed, staffed.cast.assistant.person, "P04", TODAY)
    page = days_of(staffed)
    assert (page.held, page.to_do) == (1, 2)
    assert [says for code, says in told(page)["2025-03-03"] if code == "P04"] == [
        f"Sign off: {staffed.cast.supervisor.person.printed_name}."
    ]


def test_the_plan_and_the_ten_days_say_the_same_day(staffed: Scene, signed_in: Any) -> None:
    person = staffed.cast.assistant.person
    rows = plan_rows(possible(training_of(person, TODAY), staffed.cast.lane))
    at = f"/millbrook-lane/people/{person.pk}"
    plan, page = (signed_in(staffed.cast.assistant).get(f"{at}/{name}/") for name in ("plan", "ten-days"))
    today = signed_in(staffed.cast.assistant).get("/millbrook-lane/today/")
    finishes = {row.code: row.line.earliest_finish for row in rows}
    assert {row.code: row.line.earliest_finish for row in plan.context["to_do"]} == finishes
    assert {row.code: row.line.earliest_finish for row in page.context["page"].finished} == finishes
    assert {row.code: row.line.earliest_finish for row in today.context["page"].learn} == finishes


def test_where_nobody_may_sign_it_says_so(scene: Scene, signed_in: Any) -> None:
    """The supervisor of the scene watches and does not mill herself."""
    page = signed_in(scene.cast.supervisor).get(f"/millbrook-lane/people/{scene.cast.assistant.person.pk}/ten-days/")
    assert page.context["page"].finished == ()
    assert "nobody who may sign it" in page.content.decode()


def test_somebody_asked_for_nothing_and_somebody_finished_are_told_so(staffed: Scene, signed_in: Any) -> None:
    owner = staffed.cast.owner
    page = signed_in(owner).get(f"/millbrook-lane/people/{owner.person.pk}/ten-days/").content.decode()
    assert "The job needs nothing." in page and "Requirements hang on job roles" in page
    for code in ("P01", "P04", "P03"):
        carried(staffed, staffed.cast.assistant.person, code, date(2025, 6, 1))
    mine = signed_in(staffed.cast.assistant).get(f"/millbrook-lane/people/{staffed.cast.assistant.person.pk}/ten-days/")
    assert "Everything that the job needs is done." in mine.content.decode()


def test_the_paper_is_one_page_with_every_day(staffed: Scene, signed_in: Any) -> None:
    url = f"/millbrook-lane/people/{staffed.cast.assistant.person.pk}/ten-days/pdf/"
    data = signed_in(staffed.cast.assistant).get(url).content
    assert len(read(data).pages) == 1
    shown = words(data)
    assert (
        "Mon 3 Mar" in shown and "Hand care (P01). Show, say why, let try" in shown and "Nothing is planned." in shown
    )


def test_nobody_reads_the_days_of_a_colleague(staffed: Scene, signed_in: Any) -> None:
    url = f"/millbrook-lane/people/{staffed.cast.supervisor.person.pk}/ten-days/"
    assert signed_in(staffed.cast.assistant).get(url).status_code == 404
