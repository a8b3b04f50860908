"""A new hazard class opens the taught topic for everybody whose role requires it (29 CFR 1910.1200(h)(1), O-24)."""

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clinic.actions.chemicals import Chemical, list_chemical
from clinic.models import JobRole, RoleHeld
from tests.cast import REGISTER_START, Cast
from tests.training.teaching import give_authority, put_in_force
from training.models import Requirement, Version
from training.reads.findings.stored import findings
from training.reads.new_hazards import to_teach

pytestmark = pytest.mark.django_db
TODAY = date.today()


@pytest.fixture(scope="module")
def the_asked(the_cast: Cast, django_db_blocker: Any) -> Cast:
    """Hazard communication is in force, and asked of dental assistants since the register started."""
    with django_db_blocker.unblock():
        version = put_in_force(the_cast, "T03")["T03"]
        give_authority(the_cast, "T03")
        role = JobRole.objects.get(organisation=the_cast.organisation, title="Dental assistant")
        Requirement.objects.create(
            job_role=role, procedure=version.procedure, days_allowed=0, from_day=REGISTER_START, site=None
        )
    return the_cast


@pytest.fixture
def asked(the_asked: Cast, cast: Cast) -> Cast:
    return cast


def bring(cast: Cast, ago: int = 0, *classes: str) -> None:
    """A product of so many days ago."""
    day = TODAY - timedelta(days=ago)
    chemical = Chemical("additive", classes or ("flammable liquid",), day, "sink", day)
    list_chemical(cast.lane, chemical, by=cast.coordinator.person)


def teach(cast: Cast, client: Any, day: date, **more: Any) -> None:
    version = Version.objects.get(procedure__code="T03")
    form = {
        "topics": [version.pk], "days": day.isoformat(), "attendees": [cast.assistant.person.pk], "summary": "The additive.",
        "trainer": cast.supervisor.person.pk, "trainer_name": "", "trainer_qualification": "Trained 2023.", "live_questions": "yes",
        "demonstrated": "", "language": "English", "handed_out": "The data sheet.", "submission": str(uuid4()), **more,
    }  # fmt: skip
    assert client.post(reverse("training:session_new", args=[cast.lane.code]), form).status_code == 302


def waiting(cast: Cast) -> list[str]:
    return [one.names for one in to_teach(cast.lane, TODAY)]


def codes(cast: Cast) -> list[str]:
    return [one.finding.code for one in findings(cast.lane, TODAY) if one.finding.code == "new hazard untaught"]


def test_a_new_class_is_to_be_taught_to_whoever_is_required_to_know(asked: Cast) -> None:
    bring(asked)
    assert waiting(asked) == ["Wren Adeyemi"]


def test_a_session_since_then_ends_it_and_one_before_does_not(asked: Cast, signed_in: Any) -> None:
    client = signed_in(asked.supervisor)
    bring(asked, 5)
    teach(asked, client, TODAY - timedelta(days=6))
    assert waiting(asked) == ["Wren Adeyemi"]
    teach(asked, client, TODAY)
    assert waiting(asked) == []


def test_a_session_whose_record_lacks_something_ends_nothing(asked: Cast, signed_in: Any) -> None:
    """O-05: without every part of its record a session counts for nobody."""
    bring(asked)
    teach(asked, signed_in(asked.supervisor), TODAY, trainer_qualification="")
    assert waiting(asked) == ["Wren Adeyemi"]


def test_whoever_came_after_it_learns_it_with_the_first_teaching(asked: Cast) -> None:
    bring(asked, 5)
    RoleHeld.objects.filter(person=asked.assistant.person).update(from_day=TODAY)
    assert waiting(asked) == []


@pytest.mark.parametrize(("ago", "found"), [(7, []), (8, ["new hazard untaught"])])
def test_not_taught_within_a_week_it_is_a_finding(asked: Cast, ago: int, found: list[str]) -> None:
    """Seven days are our own choice."""
    bring(asked, ago)
    assert codes(asked) == found


def test_the_finding_names_the_line_of_the_list_and_the_people(asked: Cast) -> None:
    bring(asked, 30)
    (one,) = [one.finding for one in findings(asked.lane, TODAY) if one.finding.code == "new hazard untaught"]
    assert one.weight == "fix"
    assert "1 person not taught about it: Wren Adeyemi." in one.sentence


def test_it_is_asked_of_that_site_only(asked: Cast) -> None:
    bring(asked)
    assert to_teach(asked.court, TODAY) == []


def test_one_is_told_of_ones_own(asked: Cast) -> None:
    bring(asked)
    (found,) = to_teach(asked.lane, TODAY)
    waiting = {key for key, _ in found.people}
    assert [who.person.pk in waiting for who in (asked.assistant, asked.owner)] == [True, False]


def test_ten_hazards_ask_the_database_as_much_as_one(asked: Cast) -> None:
    def asks() -> int:
        with CaptureQueriesContext(
            connection,
        ) as seen:
            to_teach(asked.lane, TODAY)
        return len(seen)

    bring(asked, 1, "aerosol")
    first = asks()
    for number, name in enumerate(("explosive", "carcinogenicity", "pyrophoric"), 2):
        bring(asked, number, name)
    assert asks() == first
