"""Water results, lines and tanks apart; sterilisers out of service and back by their spore tests."""

from datetime import date
from typing import Any
from uuid import uuid4

import pytest

from clinic.actions.readings import Work, log_work
from clinic.models import Equipment, OutOfService, UpkeepTask
from clinic.reads.spores import sterilisers
from clinic.reads.water import lines, tanks
from clinic.rules.spores import State
from tests.cast import REGISTER_START, Cast

pytestmark = pytest.mark.django_db
TODAY = date.today()


def unit(cast: Cast, kind: str, label: str) -> Equipment:
    return Equipment.objects.create(site=cast.lane, kind=kind, label=label, in_service_from=REGISTER_START)


def log(cast: Cast, task: UpkeepTask, on: Equipment, **readings: str) -> Any:
    who = cast.supervisor.person
    return log_work(Work(task, on, cast.lane, who, TODAY, readings=readings, id=uuid4()), by=who)


def sampled(kind: str, code: str) -> UpkeepTask:
    readings = [{"key": "cfu", "label": "Colonies", "kind": "number", "unit": "CFU/mL"}]
    return UpkeepTask.objects.create(code=code, title="Sample", equipment_kind=kind, every_days=90, readings=readings)


@pytest.mark.parametrize(("cfu", "passed"), [("500", True), ("501", False)])
def test_a_line_passes_at_500_and_fails_above(cast: Cast, cfu: str, passed: bool) -> None:
    """CDC 2003, MMWR 52(RR-17) (W-01): at most 500 CFU/mL; 500 pass, 501 fail."""
    log(cast, sampled("dental-unit water line", "U12"), unit(cast, "dental-unit water line", "line 1"), cfu=cfu)
    assert lines(cast.lane, TODAY)[0].good is passed


@pytest.mark.parametrize(("cfu", "good"), [("9999", True), ("10000", False), ("999999", False), ("1000000", False)])
def test_a_tank_is_judged_by_the_bands_of_machine_coolant(cast: Cast, cfu: str, good: bool) -> None:
    """UK HSE, bacterial contamination of metalworking fluids (W-10): below 10^4 good."""
    log(cast, sampled("coolant tank", "U06"), unit(cast, "coolant tank", "tank"), cfu=cfu)
    assert tanks(cast.lane, TODAY)[0].good is good


def test_one_bad_line_among_good_ones_is_named_and_no_mean_hides_it(cast: Cast, signed_in: Any) -> None:
    """W-07: 4 lines at 10 and one at 2,000 have a pooled mean of 408, which looks like a pass."""
    task = sampled("dental-unit water line", "U12")
    for number in range(5):
        log(cast, task, unit(cast, "dental-unit water line", f"line {number}"), cfu="2000" if number == 4 else "10")
    page = signed_in(cast.assistant).get(f"/{cast.lane.code}/upkeep/water/").content.decode()
    assert "line 4 failed on" in page


@pytest.fixture
def spore_task() -> UpkeepTask:
    choice = {"kind": "choice", "choices": ["growth", "no growth"]}
    readings = [
        {"key": "test", "label": "The test", "good": ["no growth"]} | choice,
        {"key": "control", "label": "The control", "good": ["growth"]} | choice,
    ]
    return UpkeepTask.objects.create(
        code="U10", title="Spore test", equipment_kind="steriliser", every_days=7, readings=readings
    )


GOOD = {"test": "no growth", "control": "growth", "same_lot": "yes"}
BAD = GOOD | {"test": "growth"}


def state(cast: Cast) -> State:
    return sterilisers(cast.lane, TODAY)[0].status.state


def tap(cast: Cast, client: Any, one: Equipment, what: str, **more: Any) -> None:
    form = {"submission": str(uuid4()), "equipment": str(one.pk), "what": what} | more
    assert client.post(f"/{cast.lane.code}/upkeep/spore-tests/", form).status_code == 302


def test_growth_takes_the_steriliser_out_and_a_good_repeat_lets_it_back(
    cast: Cast, signed_in: Any, spore_task: UpkeepTask
) -> None:
    """CDC 2003 (W-18): positive → out of service → repeat negative → in use."""
    one, client = unit(cast, "steriliser", "steriliser"), signed_in(cast.supervisor)
    back, done = (
        f"/{cast.lane.code}/upkeep/equipment/{one.pk}/return/",
        {"submission": str(uuid4()), "check_done": "Repeat run."},
    )
    log(cast, spore_task, one, **BAD)
    assert (state(cast), OutOfService.objects.get().equipment) == (State.OUT, one)
    assert "Its spore tests say: out of service." in client.post(back, done).content.decode()
    log(cast, spore_task, one, **GOOD)
    assert state(cast) is State.IN_USE


def test_two_positives_ask_for_repair_and_three_empty_passes(
    cast: Cast, signed_in: Any, spore_task: UpkeepTask
) -> None:
    """W-18 (from memory): repeat positive → repair → three passes in a row, chamber empty → in use."""
    one, client = unit(cast, "steriliser", "steriliser"), signed_in(cast.supervisor)
    for _ in range(2):
        log(cast, spore_task, one, **BAD)
    assert state(cast) is State.REPAIR
    tap(cast, client, one, "repaired")
    for _ in range(3):
        assert state(cast) is State.REPAIR
        tap(cast, client, one, "empty chamber", entry=log(cast, spore_task, one, **GOOD).entry.pk)
    assert state(cast) is State.IN_USE


def test_a_test_without_a_control_proves_nothing(cast: Cast, signed_in: Any, spore_task: UpkeepTask) -> None:
    one = unit(cast, "steriliser", "steriliser")
    log(cast, spore_task, one, test="no growth")
    page = signed_in(cast.assistant).get(f"/{cast.lane.code}/upkeep/spore-tests/").content.decode()
    assert state(cast) is State.REPEAT
    assert "invalid</b>, no control" in page
