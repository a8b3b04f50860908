"""Today about equipment: what is out of limits, out of service, to be taught, or waits for a look."""

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest

from clinic.actions.chemicals import Chemical, list_chemical
from clinic.actions.incidents import review
from clinic.actions.readings import DoneTask, log_work
from clinic.actions.upkeep import stop_unit
from clinic.models import JobRole
from tests.cast import REGISTER_START, Cast
from tests.training.teaching import put_in_force
from training.models import Requirement

pytestmark = pytest.mark.django_db
TODAY = date.today()
GOOD = {"tools": "yes", "warm": "20", "grown": "1"}


def page(cast: Cast, client: Any) -> str:
    return client.get(f"/{cast.lane.code}/today/").content.decode()


def log(cast: Cast, **readings: str) -> None:
    who = cast.supervisor.person
    log_work(DoneTask(cast.task, cast.unit, cast.lane, who, TODAY, readings=GOOD | readings, id=uuid4()), by=who)


def test_a_reading_out_of_limits_stays_until_a_good_one(cast: Cast, signed_in: Any) -> None:
    log(cast, grown="900")
    said = page(cast, signed_in(cast.assistant))
    assert "one reading out of limits" in said
    assert "Out of limits: Deep clean, unit 1" in said
    log(cast)
    assert "Out of limits" not in page(cast, signed_in(cast.assistant))


def test_a_unit_out_of_service_is_shown_to_everybody_on_duty(cast: Cast, signed_in: Any) -> None:
    stop_unit(cast.unit, "It smells of smoke.", site=cast.lane, by=cast.assistant.person)
    assert f"since {TODAY:%-d %B %Y}" in page(cast, signed_in(cast.second))
    assert "Out of service" in page(cast, signed_in(cast.second))


def test_an_event_waits_for_those_who_look_into_it_and_for_nobody_else(cast: Cast, signed_in: Any) -> None:
    words = "1 event waits for a look"
    assert [words in page(cast, signed_in(who)) for who in (cast.coordinator, cast.assistant)] == [True, False]
    review(cast.event, "The bench.", "A lamp.", by=cast.coordinator.person)
    assert words not in page(cast, signed_in(cast.coordinator))


def test_a_new_hazard_is_said_to_whoever_learns_and_to_whoever_teaches(cast: Cast, signed_in: Any) -> None:
    version = put_in_force(cast, "T03")["T03"]
    role = JobRole.objects.get(organisation=cast.organisation, title="Dental assistant")
    Requirement.objects.create(job_role=role, procedure=version.procedure, days_allowed=0, from_day=REGISTER_START)
    spray = Chemical("spray", ("aerosol",), TODAY, "bench", TODAY - timedelta(days=1))
    list_chemical(cast.lane, spray, by=cast.coordinator.person)
    said = {who: page(cast, signed_in(getattr(cast, who))) for who in ("assistant", "coordinator", "second")}
    assert "You are to be taught about spray" in said["assistant"]
    assert "Teach about spray: 1 person" in said["coordinator"]
    assert "spray" not in said["second"]


def test_another_sites_trouble_is_not_shown(cast: Cast, signed_in: Any) -> None:
    log(cast, grown="900")
    assert "Out of limits" not in signed_in(cast.elsewhere).get(f"/{cast.court.code}/today/").content.decode()
