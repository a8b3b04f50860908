"""The coverage page: who can cover which duty on which working day, what is missing, and what repairs it."""

from datetime import timedelta
from typing import Any

from django.db import connection
from django.test.utils import CaptureQueriesContext

from clinic.actions.people import give_role, hire, job_role
from clinic.models import Absence, Closure, Person, RoleHeld, SiteSetting
from clinic.record import record
from tests.cast import REGISTER_START, Cast
from tests.training.people_scene import TODAY, Scene, carried, watched
from training.models import Requirement
from training.reads.coverage import DutyCovered, site_coverage
from training.rules.cover_wording import Gap, short_gaps

PAGE = "/millbrook-lane/audit/coverage/"


def duty(scene: Scene, code: str = "P01") -> DutyCovered:
    return next(one for one in site_coverage(scene.cast.lane, TODAY).duties if one.procedure.code == code)


def least(scene: Scene, value: int, about: str = "") -> None:
    setting = SiteSetting(site=scene.cast.lane, happened_on=TODAY, name="least cover", value=value, about=about)
    record(setting, by=scene.cast.owner.person)


def usable_on(scene: Scene, number: int) -> set[str]:
    return {duty(scene).names[key] for key in duty(scene).cover.days[number].usable}


def test_a_duty_is_what_a_job_role_needs_and_two_people_are_its_least(scene: Scene) -> None:
    found = site_coverage(scene.cast.lane, TODAY)
    assert [one.procedure.code for one in found.duties] == ["P01", "P03", "P04"]
    assert {day.minimum for one in found.duties for day in one.cover.days} == {2}


def test_the_site_sets_the_least_for_all_duties_or_for_one(scene: Scene) -> None:
    least(scene, 1)
    least(scene, 3, about="P03")
    assert (duty(scene).cover.days[0].minimum, duty(scene, "P03").cover.days[0].minimum) == (1, 3)


def test_whoever_lapses_is_named_with_the_last_good_day(scene: Scene) -> None:
    least(scene, 1)
    carried(scene, scene.cast.assistant.person, "P01", TODAY + timedelta(days=9))
    assert duty(scene).lapse_says == "Last good days: 12 Mar 2025 Wren Adeyemi."
    assert "renewing the sign-off of Wren Adeyemi, possible from 3 March 2025" in duty(scene).repair_says
    assert short_gaps(duty(scene).cover)[0].first == TODAY + timedelta(days=10)


def test_who_is_away_or_does_not_work_that_weekday_is_not_counted(scene: Scene) -> None:
    for who in (scene.cast.assistant, scene.cast.second):
        carried(scene, who.person, "P01", TODAY + timedelta(days=90))
    Absence.objects.create(person=scene.cast.assistant.person, from_day=TODAY, to_day=TODAY)
    Person.objects.filter(pk=scene.cast.second.person.pk).update(working_days="1011111")
    assert usable_on(scene, 0) == {"Tobias Rask"}
    assert usable_on(scene, 1) == {"Wren Adeyemi"}


def test_who_left_or_has_not_started_is_not_counted(scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", TODAY + timedelta(days=90))
    RoleHeld.objects.filter(person=scene.cast.assistant.person).update(to_day=TODAY)
    assert (usable_on(scene, 0), usable_on(scene, 1)) == ({"Wren Adeyemi"}, set())


def test_a_day_on_which_the_site_is_closed_is_no_working_day(scene: Scene) -> None:
    closure = Closure(site=scene.cast.lane, happened_on=TODAY, first=TODAY, after=TODAY + timedelta(days=1))
    record(closure, by=scene.cast.owner.person)
    assert duty(scene).cover.days[0].day == TODAY + timedelta(days=1)


def test_signing_needs_authority_and_being_usable(scene: Scene) -> None:
    assert duty(scene).unsigned_says == ["Nobody can sign from 3 March 2025 to 30 May 2025."]
    carried(scene, scene.cast.supervisor.person, "P01", TODAY + timedelta(days=1))
    assert duty(scene).unsigned_says == ["Nobody can sign from 5 March 2025 to 30 May 2025."]


def test_the_training_that_repairs_it_soonest_counts_prerequisites_and_working_days(scene: Scene) -> None:
    assert duty(scene, "P03").repair_says.startswith(
        "Repaired soonest by training Wren Adeyemi, who could work alone on 4 March"
    )
    Absence.objects.create(
        person=scene.cast.assistant.person, from_day=TODAY + timedelta(days=1), to_day=TODAY + timedelta(days=5)
    )
    assert "on 10 March 2025" in duty(scene, "P03").repair_says


def test_where_no_training_repairs_it_the_page_says_so(scene: Scene) -> None:
    RoleHeld.objects.filter(person=scene.cast.assistant.person).update(to_day=TODAY - timedelta(days=1))
    assert "a matter of days away, or of one person more" in duty(scene).repair_says


def test_weekends_do_not_part_a_gap(scene: Scene) -> None:
    assert short_gaps(duty(scene).cover) == [Gap(TODAY, TODAY + timedelta(days=88), 65)]


def test_the_page_names_the_gaps_and_its_chart_says_them_in_words(signed_in: Any, scene: Scene) -> None:
    text = signed_in(scene.cast.coordinator).get(PAGE).content.decode()
    assert "3 of 3 duties" in text
    assert 'aria-label="Tool swap: 0 of 65 working days are covered, below the least from 3 March 2025' in text
    assert f"/millbrook-lane/people/{scene.cast.assistant.person.pk}/days/" in text


def test_a_covered_duty_stands_apart(signed_in: Any, scene: Scene) -> None:
    least(scene, 0)
    carried(scene, scene.cast.supervisor.person, "P01", TODAY + timedelta(days=120))
    assert "Covered on every working day." in signed_in(scene.cast.supervisor).get(PAGE).content.decode()


def test_without_requirements_the_page_says_what_a_duty_is(signed_in: Any, cast: Cast) -> None:
    Requirement.objects.all().delete()
    assert "A duty is a procedure that a job role needs here." in signed_in(cast.owner).get(PAGE).content.decode()


def test_only_whoever_reads_the_site_sees_it(signed_in: Any, scene: Scene) -> None:
    assert signed_in(scene.cast.assistant).get(PAGE).status_code == 403
    assert signed_in(scene.cast.elsewhere).get(PAGE).status_code == 404


def test_the_page_costs_the_same_for_more_people(scene: Scene) -> None:
    watched(scene, scene.cast.assistant.person, "P01", TODAY)
    queries(scene)  # whatever is looked up once is known from here on
    few = queries(scene)
    role = job_role(scene.cast.organisation, "Dental assistant")
    for number in range(8):
        person = Person(
            organisation=scene.cast.organisation, home_site=scene.cast.lane, given_name="N", family_name=str(number)
        )
        give_role(hire(person, by=None), scene.cast.lane, role, REGISTER_START, by=None)
        watched(scene, person, "P01", TODAY)
    assert queries(scene) == few


def queries(scene: Scene) -> int:
    with CaptureQueriesContext(connection) as seen:
        site_coverage(scene.cast.lane, TODAY)
    return len(seen)
