"""What is read of an old register for the days of today comes to the same as all its rows, however long ago a task was done."""

from datetime import UTC, date, datetime, time, timedelta
from random import Random
from typing import Any

import pytest

from clinic.models import Equipment, FollowUp, UpkeepEntry, UpkeepTask, Use
from clinic.reads.upkeep import NEAR, everything, newest_before, unit_tasks
from clinic.rules.spans import on
from tests.cast import Cast

pytestmark = pytest.mark.django_db
TODAY = date(2025, 3, 3)
START = TODAY - 3 * NEAR
SINCE = TODAY - timedelta(days=60)


@pytest.fixture(params=range(4))
def random(request: pytest.FixtureRequest) -> Random:
    return Random(request.param)


def practice(cast: Cast, random: Random) -> None:
    """Years of entries, some out of limits in a task that only a pass renews, and of use; most tasks now and then only."""
    cast.lane.register_start = START
    cast.lane.save()
    for label in ("an old unit", "another"):
        unit = Equipment.objects.create(site=cast.lane, kind="milling unit", label=label, in_service_from=START)
        for number, more in enumerate(
            ({"every_days": 7}, {"every_units": 40}, {"every_days": 30, "only_a_pass": True})
        ):
            task, _ = UpkeepTask.objects.get_or_create(
                code=f"N{number}",
                defaults={"title": f"Task {number}", "equipment_kind": "milling unit", "readings": []} | more,
            )
            for _ in range(random.choice((0, 2, 12))):
                enter(cast, unit, task, START + timedelta(days=random.randrange((TODAY - START).days)), random)
        for _ in range(30):
            day = START + timedelta(days=random.randrange((TODAY - START).days))
            put(Use(site=cast.lane, happened_on=day, equipment=unit, units=random.randrange(1, 9)))


def put(row: Any) -> Any:
    row.recorded_at = datetime.combine(row.happened_on, time(12), UTC)
    type(row).objects.bulk_create([row])
    return row


def enter(cast: Cast, unit: Equipment, task: UpkeepTask, day: date, random: Random) -> None:
    row = UpkeepEntry(
        site=cast.lane, happened_on=day, task=task, equipment=unit, done_by=cast.assistant.person, readings={}
    )
    put(row)
    if task.only_a_pass and random.random() < 0.5:
        put(FollowUp(site=cast.lane, happened_on=day, entry=row, reading="x", what_to_do="", due_on=day))


def test_the_days_that_are_asked_for_are_the_same(cast: Cast, random: Random) -> None:
    practice(cast, random)
    units = everything(cast.lane)
    whole, near = unit_tasks(cast.lane, units), unit_tasks(cast.lane, units, since=SINCE)
    assert len(whole) >= 6
    for one, other in zip(whole, near, strict=True):
        for number in range((TODAY - SINCE).days + 90):
            day = SINCE + timedelta(days=number)
            assert on(one.spans, day) == on(other.spans, day) or same(one, other, day), (one.task.code, day)
        assert (one.units_on(TODAY), one.last) == (other.units_on(TODAY), other.last)


def same(one: Any, other: Any, day: date) -> bool:
    """All but where the stretch began, which may lie before what is read."""
    mine, theirs = on(one.spans, day), on(other.spans, day)
    return (mine.state, mine.cause, mine.after, mine.last_good) == (
        theirs.state,
        theirs.cause,
        theirs.after,
        theirs.last_good,
    )


def test_the_newest_day_before_is_found_however_far_back(cast: Cast, random: Random) -> None:
    practice(cast, random)
    failed = set(FollowUp.objects.values_list("entry", flat=True))
    slow: dict[Any, date] = {}
    for row in UpkeepEntry.objects.filter(happened_on__lt=SINCE).order_by("happened_on"):
        if row.pk not in failed:
            slow[row.equipment_id, row.task_id] = row.happened_on
    assert newest_before(everything(cast.lane), SINCE) == slow


def test_what_is_recorded_later_is_never_missed_for_what_was_computed_before(cast: Cast, random: Random) -> None:
    """A page takes up what the last one computed of the same facts. After each that is added it says what all
    the rows say, and of the units that it does not reach it computes nothing anew."""
    practice(cast, random)
    units = everything(cast.lane)
    tasks = {task.code: task for task in UpkeepTask.objects.filter(code__startswith="N")}
    before = unit_tasks(cast.lane, units, since=SINCE)
    assert all(
        one.spans is again.spans for one, again in zip(before, unit_tasks(cast.lane, units, since=SINCE), strict=True)
    )
    for _ in range(6):
        unit, code = random.choice(before).unit, random.choice(sorted(tasks))
        day = SINCE + timedelta(days=random.randrange((TODAY - SINCE).days))
        if random.random() < 0.3:
            put(Use(site=cast.lane, happened_on=day, equipment=unit, units=9))
            touched = {other.pk for other in units}
        else:
            enter(cast, unit, tasks[code], day, random)
            touched = {unit.pk}
        whole, near = unit_tasks(cast.lane, units), unit_tasks(cast.lane, units, since=SINCE)
        for one, other, last in zip(whole, near, before, strict=True):
            assert same(one, other, TODAY) and one.last == other.last
            assert other.unit.pk in touched or other.spans is last.spans
        before = near


def test_use_from_before_the_days_asked_makes_a_task_due_that_no_number_of_units_makes_overdue(cast: Cast) -> None:
    """A maker who says “every 365 days, and look at it from 20 parts on”."""
    cast.lane.register_start = START
    cast.lane.save()
    unit = Equipment.objects.create(site=cast.lane, kind="torque driver", label="tall", in_service_from=START)
    UpkeepTask.objects.create(
        code="N9", title="Spring", equipment_kind="torque driver", readings=[], every_days=365, plan_units=20
    )
    put(Use(site=cast.lane, happened_on=TODAY - timedelta(days=100), equipment=unit, units=30))
    put(
        UpkeepEntry(
            site=cast.lane, happened_on=TODAY - timedelta(days=200), task=UpkeepTask.objects.get(code="N9"), equipment=unit,
            done_by=cast.assistant.person, readings={},
        )
    )  # fmt: skip
    (whole,), (near,) = unit_tasks(cast.lane, [unit]), unit_tasks(cast.lane, [unit], since=SINCE)
    assert on(whole.spans, TODAY).state == on(near.spans, TODAY).state == "due"
    assert whole.units_on(TODAY) == near.units_on(TODAY) == 30
