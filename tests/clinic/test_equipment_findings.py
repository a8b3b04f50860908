"""Findings about equipment: what is one, what evidence it names, and what ends it."""

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest

from clinic import usable
from clinic.actions.readings import Work, log_work
from clinic.actions.upkeep import log_use
from clinic.models import Equipment, UpkeepTask
from clinic.reads.findings import equipment_findings
from tests.cast import REGISTER_START, Cast

pytestmark = pytest.mark.django_db
TODAY = date.today()


@pytest.fixture(autouse=True)
def holders(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> set[Any]:
    found = {cast.supervisor.person.pk}
    monkeypatch.setattr(usable, "_many", [lambda organisation, asked: dict.fromkeys(asked, found)])
    return found


def unit(cast: Cast, kind: str) -> Equipment:
    return Equipment.objects.create(site=cast.lane, kind=kind, label=kind, in_service_from=REGISTER_START)


def log(
    cast: Cast, task: UpkeepTask, on: Equipment, day: date = TODAY, who: str = "supervisor", **readings: str
) -> Any:
    person = getattr(cast, who).person
    return log_work(Work(task, on, cast.lane, person, day, readings=readings, id=uuid4()), by=person)


def codes(cast: Cast) -> dict[str, str]:
    return {finding.code: finding.weight.value for finding in equipment_findings(cast.lane, TODAY)}


def test_overdue_upkeep_is_to_be_fixed_and_an_entry_ends_it(cast: Cast) -> None:
    assert codes(cast) == {"upkeep overdue": "fix"}
    log(cast, cast.task, cast.unit, tools="yes", warm="20", grown="1")
    assert codes(cast) == {}


def test_an_entry_by_somebody_not_usable_is_a_note(cast: Cast) -> None:
    log(cast, cast.task, cast.unit, who="assistant", tools="yes", warm="20", grown="1")
    (found,) = equipment_findings(cast.lane, TODAY)
    assert (found.code, found.weight) == ("not held", "note")
    assert "Wren Adeyemi did not hold P06 that day, and nobody stood by." in found.sentence


def test_a_reading_out_of_limits_is_a_finding_once_its_day_has_passed(cast: Cast) -> None:
    log(cast, cast.task, cast.unit, day=TODAY - timedelta(days=3), tools="yes", warm="40", grown="1")
    assert codes(cast) == {"follow-up late": "fix"}
    log(cast, cast.task, cast.unit, tools="yes", warm="20", grown="1")
    assert codes(cast) == {"follow-up late": "note"}


def test_a_driver_used_past_its_check_stops_work_until_it_passes(cast: Cast) -> None:
    driver = unit(cast, "torque driver")
    check = UpkeepTask.objects.create(code="U09", title="Verification", equipment_kind="torque driver", every_days=30)
    use = log_use(driver, 1, site=cast.lane, by=cast.supervisor.person, day=TODAY - timedelta(days=1))
    found = {each.code: each for each in equipment_findings(cast.lane, TODAY)}["driver past check"]
    assert (found.weight, found.evidence) == ("stop", (str(use.pk),))
    log(cast, check, driver)
    assert codes(cast)["driver past check"] == "note"


def test_a_spore_test_without_a_control_is_to_be_repeated(cast: Cast) -> None:
    steriliser = unit(cast, "steriliser")
    test = UpkeepTask.objects.create(code="U10", title="Spore test", equipment_kind="steriliser", every_days=7)
    log(cast, test, steriliser, test="no growth")
    assert codes(cast)["spore test unproved"] == "fix"
    log(cast, test, steriliser, test="no growth", control="growth", same_lot="yes")
    assert codes(cast)["spore test unproved"] == "note"


def test_another_sites_equipment_is_no_finding_here(cast: Cast) -> None:
    abouts = {finding.about for finding in equipment_findings(cast.lane, TODAY)}
    assert abouts == {"Deep clean, unit 1"}
