"""Whether work was done by somebody usable is asked at its time of the day, in the order of that day's facts.

Design, section 6: the state of a day is the state after its last fact, and whether work at some time that day was allowed
is asked in that order; a fact without a time comes after those of its day that have one.
"""

from datetime import date, time
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from clinic.actions.upkeep import log_entry
from clinic.models import UpkeepTask
from clinic.reads.entries import entries_of, said
from tests.equipment_findings import equipment_findings
from tests.training.bench import Bench, at, proved
from training.actions.signing import withdraw

pytestmark = pytest.mark.django_db
MORNING, EVENING = time(9), time(17)
SIGNED, WITHDRAWN = date(2025, 2, 6), date(2025, 2, 8)


@pytest.fixture
def bench(bench: Bench) -> Bench:
    UpkeepTask.objects.filter(pk=bench.cast.task.pk).update(covered_by="P06")
    bench.cast.task.refresh_from_db()
    return bench


def clean(bench: Bench, day: date, time_of_day: time | None, by: Any = None) -> str:
    who = by or bench.cast.assistant.person
    with at(day.day, 18):
        log_entry(
            bench.cast.task, bench.cast.unit, who, site=bench.cast.lane, by=who, day=day, at=time_of_day
        )  # fmt: skip
        (newest, *_) = said(bench.cast.organisation, entries_of(bench.cast.lane))
    return newest.cover.sentence


@pytest.mark.parametrize(
    ("time_of_day", "held", "words"),
    [
        (MORNING, False, "did not hold P06 at that time"),  # signed at 12:00
        (EVENING, True, "held P06 that day"),
        (None, True, "held P06 that day"),  # without a time: after those of its day that have one
    ],
)
def test_what_is_signed_later_that_day_heals_no_work_before_it(
    bench: Bench, time_of_day: time | None, held: bool, words: str
) -> None:
    bench.signed(SIGNED.day)
    assert words in clean(bench, SIGNED, time_of_day)
    assert len(bare(bench)) == (0 if held else 1)


@pytest.mark.parametrize(
    ("time_of_day", "held", "words"),
    [(MORNING, True, "held P06 at that time"), (EVENING, False, "did not hold P06 that day")],
)
def test_what_is_withdrawn_later_that_day_blames_no_work_before_it(
    bench: Bench, time_of_day: time, held: bool, words: str
) -> None:
    bench.signed(SIGNED.day)
    with at(WITHDRAWN.day):
        withdraw(
            bench.cast.assistant.person, bench.procedure, "Reached in.", site=bench.cast.lane,
            by=bench.cast.supervisor.person, proved=proved(), id=uuid4(),
        )  # fmt: skip
    assert words in clean(bench, WITHDRAWN, time_of_day)
    assert len(bare(bench)) == (0 if held else 1)


def bare(bench: Bench) -> list[str]:
    found = equipment_findings(bench.cast.lane, date(2025, 2, 20))
    return [one.code for one in found if one.code == "not held"]


def test_the_day_before_and_the_day_after_are_those_of_the_whole_day(bench: Bench) -> None:
    bench.signed(SIGNED.day)
    assert "did not hold P06 that day" in clean(bench, date(2025, 2, 5), EVENING)
    assert "held P06 that day" in clean(bench, date(2025, 2, 7), MORNING)


def test_the_page_of_the_unit_and_the_log_say_the_same(bench: Bench, signed_in: Any) -> None:
    bench.signed(SIGNED.day)
    clean(bench, SIGNED, MORNING)
    with at(SIGNED.day, 19):
        client: Client = signed_in(bench.cast.owner)
        page = client.get(f"/{bench.cast.lane.code}/upkeep/equipment/{bench.cast.unit.pk}/").content.decode()
    assert "did not hold P06 at that time" in page


def test_more_work_of_decided_days_asks_the_database_no_more(bench: Bench) -> None:
    bench.signed(SIGNED.day)

    def asks() -> int:
        with CaptureQueriesContext(connection) as seen:
            said(bench.cast.organisation, entries_of(bench.cast.lane))
        return len(seen)

    clean(bench, SIGNED, MORNING)
    one = asks()
    for hour in (10, 11, 13, 14):
        clean(bench, SIGNED, time(hour))
    assert asks() == one
