"""What job roles need: one procedure, a default set, until when; and who may say so."""

from datetime import date
from typing import Any

import pytest

from clinic.models import Change
from clinic.rules.roles import ProcedureRole
from tests.training.people_scene import Scene
from training.models import Procedure, Requirement
from training.reads.findings.stored import findings
from training.reads.role_sets import default_sets

pytestmark = pytest.mark.django_db
LATE = "exposed before training"
URL = "/millbrook-lane/people/roster/requirements/"


def send(signed_in: Any, scene: Scene, tail: str, **data: Any) -> Any:
    return signed_in(scene.cast.coordinator).post(URL + tail, {"from_day": "3 Mar 2025", "days_allowed": "60", **data})


def words(answer: Any) -> str:
    assert answer.status_code == 200, answer
    return " ".join(answer.content.decode().split())


def test_requirements_are_listed_by_job_role(signed_in: Any, scene: Scene) -> None:
    html = words(signed_in(scene.cast.coordinator).get(URL))
    assert "1 job role needs</span> something." in html
    assert 'Dental assistant: <span data-counts="requirement">3</span>' in html


def test_one_procedure_is_required_and_recorded(signed_in: Any, scene: Scene) -> None:
    answer = send(signed_in, scene, "new/", job_role="Lead assistant", procedure=scene.procedures["P01"].pk)
    row = Requirement.objects.get(job_role__title="Lead assistant")
    assert (answer.status_code, row.days_allowed, row.from_day, row.site) == (302, 60, date(2025, 3, 3), None)
    assert Change.objects.filter(about_id=str(row.pk), about="training.requirement").exists()


def test_it_can_be_asked_at_one_site_only(signed_in: Any, scene: Scene) -> None:
    send(signed_in, scene, "new/", job_role="Lead assistant", procedure=scene.procedures["P01"].pk, here_only="on")
    assert Requirement.objects.get(job_role__title="Lead assistant").site == scene.cast.lane


def test_what_is_needed_already_is_refused_at_its_field(signed_in: Any, scene: Scene) -> None:
    html = words(send(signed_in, scene, "new/", job_role="dental assistant", procedure=scene.procedures["P01"].pk))
    assert "Dental assistant already needs Hand care (P01). End that requirement first." in html


@pytest.mark.parametrize(
    ("days", "says"), [("-1", "Write 0 or more."), ("x", "Write a whole number of days"), ("731", "Write at most 730")]
)
def test_days_allowed_are_a_sensible_number(signed_in: Any, scene: Scene, days: str, says: str) -> None:
    assert says in words(
        send(signed_in, scene, "new/", job_role="X", procedure=scene.procedures["P01"].pk, days_allowed=days)
    )


def test_a_default_set_adds_only_what_is_not_needed_yet(signed_in: Any, scene: Scene) -> None:
    assert send(signed_in, scene, "set/", job_role="Lead assistant", role_set="mills").status_code == 302
    rows = Requirement.objects.filter(job_role__title="Lead assistant")
    assert set(rows.values_list("procedure__code", flat=True)) == {"P01", "P03", "P04"}
    send(signed_in, scene, "set/", job_role="Lead assistant", role_set="mills")
    assert rows.count() == 3


def pathogens(scene: Scene) -> Procedure:
    row = scene.procedures["P03"]
    row.stands_for = ProcedureRole.PATHOGENS
    row.save()
    return row


def test_a_default_set_asks_bloodborne_pathogens_from_the_first_day(signed_in: Any, scene: Scene) -> None:
    topic = pathogens(scene)
    send(signed_in, scene, "set/", job_role="Lead assistant", role_set="mills")
    rows = Requirement.objects.filter(job_role__title="Lead assistant")
    assert dict(rows.values_list("procedure__code", "days_allowed")) == {"P01": 60, topic.code: 0, "P04": 60}
    assert "on the first day" in words(signed_in(scene.cast.coordinator).get(URL))


def test_a_role_that_allows_days_for_it_is_a_finding_until_it_asks_for_none(signed_in: Any, scene: Scene) -> None:
    def found(day: date) -> list[str]:
        return [one.finding.sentence for one in findings(scene.cast.lane, day) if one.finding.code == LATE]

    topic = pathogens(scene)
    Requirement.objects.filter(procedure=topic).delete()
    send(signed_in, scene, "new/", job_role="dental assistant", procedure=topic.pk)
    assert found(date(2025, 3, 3))[0].startswith("Dental assistant, Tool swap (P03): the role allows 60 days for it.")
    page = words(signed_in(scene.cast.coordinator).get("/millbrook-lane/audit/"))
    assert f'<a href="{URL}">What job roles need</a>' in page
    row = Requirement.objects.get(procedure=topic)
    send(signed_in, scene, f"{row.pk}/end/", to_day="7 Mar 2025")
    none = {"from_day": "8 Mar 2025", "days_allowed": "0"}
    send(signed_in, scene, "new/", job_role="dental assistant", procedure=topic.pk, **none)
    assert (len(found(date(2025, 3, 7))), found(date(2025, 3, 8))) == (1, [])


def test_a_set_holds_what_the_sets_below_it_hold() -> None:
    sets = {each.name: set(each.codes) for each in default_sets()}
    assert sets["everyone"] < sets["mills"] < sets["torque and calibration"]


def test_a_set_has_to_be_chosen(signed_in: Any, scene: Scene) -> None:
    assert "Choose a set." in words(send(signed_in, scene, "set/", job_role="Lead assistant"))


def test_a_requirement_ends_on_its_last_day(signed_in: Any, scene: Scene) -> None:
    row = Requirement.objects.filter(procedure__code="P01").get()
    assert "That is before it began." in words(send(signed_in, scene, f"{row.pk}/end/", to_day="5 Jan 2025"))
    assert send(signed_in, scene, f"{row.pk}/end/", to_day="7 Mar 2025").status_code == 302
    row.refresh_from_db()
    assert row.to_day == date(2025, 3, 7)


@pytest.mark.parametrize("tail", ["", "new/", "set/"])
@pytest.mark.parametrize(("who", "status"), [("assistant", 403), ("supervisor", 403), ("elsewhere", 404)])
def test_only_those_who_draft_say_what_is_needed(
    signed_in: Any, scene: Scene, tail: str, who: str, status: int
) -> None:
    assert signed_in(getattr(scene.cast, who)).get(URL + tail).status_code == status
