"""Findings about equipment: what is one, what evidence it names, and what ends it."""

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clinic.actions.readings import DoneTask, log_work
from clinic.actions.upkeep import log_use
from clinic.models import Equipment, UpkeepTask
from clinic.rules.findings_checks import ToolMounted, tools_past_life
from tests import stand_in
from tests.cast import REGISTER_START, Cast
from tests.equipment_findings import equipment_findings
from training.reads.findings.stored import findings

pytestmark = pytest.mark.django_db
TODAY = date.today()


@pytest.fixture(autouse=True)
def holders(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> set[Any]:
    found = {cast.supervisor.person.pk}
    stand_in.usable(monkeypatch, found)
    return found


def unit(cast: Cast, kind: str) -> Equipment:
    return Equipment.objects.create(site=cast.lane, kind=kind, label=kind, in_service_from=REGISTER_START)


def log(
    cast: Cast, task: UpkeepTask, on: Equipment, day: date = TODAY, who: str = "supervisor", **readings: str
) -> Any:
    person = getattr(cast, who).person
    return log_work(DoneTask(task, on, cast.lane, person, day, readings=readings, id=uuid4()), by=person)


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
    check = UpkeepTask.objects.create(
        code="U09", stands_for="driver check", title="Verification", equipment_kind="torque driver", every_days=30
    )
    use = log_use(driver, 1, site=cast.lane, by=cast.supervisor.person, day=TODAY - timedelta(days=1))
    found = {each.code: each for each in equipment_findings(cast.lane, TODAY)}["driver past check"]
    assert (found.weight, found.evidence) == ("stop", (str(use.pk),))
    log(cast, check, driver)
    assert codes(cast)["driver past check"] == "note"


def test_a_spore_test_without_a_control_is_to_be_repeated(cast: Cast) -> None:
    steriliser = unit(cast, "steriliser")
    test = UpkeepTask.objects.create(
        code="U10", stands_for="spore test", title="Spore test", equipment_kind="steriliser", every_days=7
    )
    log(cast, test, steriliser, test="no growth")
    assert codes(cast)["spore test unproved"] == "fix"
    log(cast, test, steriliser, test="no growth", control="growth", same_lot="yes")
    assert codes(cast)["spore test unproved"] == "note"


def test_another_sites_equipment_is_no_finding_here(cast: Cast) -> None:
    abouts = {finding.about for finding in equipment_findings(cast.lane, TODAY)}
    assert abouts == {"Deep clean, unit 1"}


def test_an_overdue_task_says_for_how_many_days(cast: Cast) -> None:
    log(cast, cast.task, cast.unit, day=TODAY - timedelta(days=10), tools="yes", warm="20", grown="1")
    (found,) = equipment_findings(cast.lane, TODAY)
    assert found.sentence == f"Deep clean, unit 1: overdue since {TODAY - timedelta(days=2):%-d %B %Y}, 3 days."


def test_a_tool_past_its_life_is_to_be_taken_out(cast: Cast) -> None:
    """Z-11 (own rule): more units than the life that was entered."""
    log(cast, cast.task, cast.unit, tools="yes", warm="20", grown="1")
    found = tools_past_life([ToolMounted("t", "tool 7", "unit 1", 50, [(TODAY, 51)])])
    assert [(one.code, one.weight, one.ends_when) for one in found] == [
        ("tool past life", "fix", "Taking the tool out ends it.")
    ]


def test_each_finding_names_its_evidence_and_what_ends_it(cast: Cast) -> None:
    log(cast, cast.task, cast.unit, day=TODAY - timedelta(days=10), who="assistant", tools="no", warm="20", grown="1")
    found = equipment_findings(cast.lane, TODAY)
    assert {one.code for one in found} == {"upkeep overdue", "not held", "follow-up late"}
    assert all(one.evidence and one.ends_when for one in found)


def test_they_stand_in_one_list_with_the_findings_about_people(cast: Cast) -> None:
    log(cast, cast.task, cast.unit, day=TODAY - timedelta(days=10), tools="yes", warm="20", grown="1")
    assert "upkeep overdue" in [one.finding.code for one in findings(cast.lane, TODAY)]


def test_ten_units_ask_the_database_as_much_as_one(cast: Cast) -> None:
    def asks() -> int:
        with CaptureQueriesContext(connection) as seen:
            equipment_findings(cast.lane, TODAY)
        return len(seen)

    asks()  # reads the organisation once
    one = asks()
    for number in range(9):
        unit_of = {"kind": "milling unit", "label": f"more {number}", "in_service_from": REGISTER_START}
        Equipment.objects.create(site=cast.lane, **unit_of)
    assert asks() == one
