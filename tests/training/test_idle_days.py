"""What counts as doing it, so that its idle days begin anew: a recorded swap counts for the swap, and only for whoever set the
tool in. Common practice, no source; the 183 days are row S-87 (own choice, D).
"""

from datetime import date, timedelta
from uuid import uuid4

import pytest

from clinic.actions.taking_back import take_back
from clinic.actions.tools import enter_tool
from clinic.models import BlockLot, JobStarted, MillingTool, Person, ToolMounted
from clinic.record import record
from tests.training.bench import Bench, at
from training import spans
from training.models import Procedure, StandingSpan

pytestmark = pytest.mark.django_db
SIGNED, SWAPPED = 6, 20
IDLE = timedelta(days=183)
SIGNED_ON = date(2025, 2, SIGNED)


@pytest.fixture
def swap(bench: Bench) -> Bench:
    """The procedure stands for the swap; the assistant is signed off, from which the idle days count."""
    Procedure.objects.filter(pk=bench.procedure.pk).update(stands_for="tool swap")
    bench.signed(SIGNED)
    return bench


def set_in(bench: Bench, who: Person) -> ToolMounted:
    with at(SWAPPED):
        tool = MillingTool(site=bench.cast.lane, code="T1", kind="fluted cutter", seat="hex 1.3", life=40)
        row = ToolMounted(
            id=uuid4(), site=bench.cast.lane, happened_on=date(2025, 2, SWAPPED), equipment=bench.cast.unit,
            tool=enter_tool(tool, by=bench.cast.owner.person), position="1", done_by=who,
        )  # fmt: skip
        return record(row, by=bench.cast.owner.person)


def good_until(bench: Bench) -> date | None:
    day = date(2025, 2, SWAPPED)
    return StandingSpan.objects.on(day).get(person=bench.cast.assistant.person, procedure=bench.procedure).ends_on


def test_a_recorded_swap_begins_the_idle_days_anew(swap: Bench) -> None:
    assert good_until(swap) == SIGNED_ON + IDLE
    set_in(swap, swap.cast.assistant.person)
    assert good_until(swap) == date(2025, 2, SWAPPED) + IDLE


def test_a_swap_by_somebody_else_does_not(swap: Bench) -> None:
    set_in(swap, swap.cast.second.person)
    assert good_until(swap) == SIGNED_ON + IDLE


def test_a_swap_that_is_taken_back_never_counted(swap: Bench) -> None:
    row = set_in(swap, swap.cast.assistant.person)
    with at(SWAPPED + 1):
        take_back(row, by=swap.cast.owner.person, reason="Another unit.")
    assert good_until(swap) == SIGNED_ON + IDLE


def test_a_swap_counts_for_no_procedure_that_does_not_stand_for_one(bench: Bench) -> None:
    bench.signed(SIGNED)
    set_in(bench, bench.cast.assistant.person)
    assert good_until(bench) == SIGNED_ON + IDLE


def test_what_is_stored_is_what_the_facts_say_after_a_swap(swap: Bench) -> None:
    """The proof of the stored timelines gathers anew, and finds no difference."""
    set_in(swap, swap.cast.assistant.person)
    assert spans.differences(swap.cast.organisation) == []


@pytest.mark.parametrize("role", ["milling job", "block clamped"])
def test_a_job_that_was_started_is_the_part_milled_and_its_block_clamped(bench: Bench, role: str) -> None:
    Procedure.objects.filter(pk=bench.procedure.pk).update(stands_for=role)
    bench.signed(SIGNED)
    assert good_until(bench) == SIGNED_ON + IDLE
    with at(SWAPPED):
        lot = BlockLot.objects.create(site=bench.cast.lane, lot="L1", material="polymer or wax", received_on=SIGNED_ON)
        row = JobStarted(
            site=bench.cast.lane, happened_on=date(2025, 2, SWAPPED), equipment=bench.cast.unit, lot=lot, case="25-1", wet=False,
            done_by=bench.cast.assistant.person,
        )  # fmt: skip
        record(row, by=bench.cast.owner.person)
    assert good_until(bench) == date(2025, 2, SWAPPED) + IDLE
    assert spans.differences(bench.cast.organisation) == []
