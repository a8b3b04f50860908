"""Use: one tap, a file with a preview, counters and forecasts that are ranges."""

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from clinic.actions.upkeep import log_use
from clinic.models import Equipment, UpkeepTask, Use
from clinic.reads.upkeep import unit_tasks
from clinic.reads.use import counters, forecast_words
from clinic.rules.usage import DaysUntil
from tests.cast import REGISTER_START, Cast
from tests.house.counts import parsed

pytestmark = pytest.mark.django_db
TODAY = date.today()
GOOD = f"day,unit,units,material,way\n{TODAY},unit 1,3,pre-sintered zirconia,dry\n{TODAY},unit 1,3,pre-sintered zirconia,dry\n"


def tap(cast: Cast, client: Any, **changes: Any) -> str:
    form = {"submission": str(uuid4()), "units": "1", "day": f"{TODAY:%d %b %Y}", "what": "glass-ceramic|wet"} | changes
    return client.post(f"/{cast.lane.code}/upkeep/unit/{cast.unit.pk}/use/", form, follow=True).content.decode()


def send(cast: Cast, client: Any, **form: Any) -> str:
    return client.post(f"/{cast.lane.code}/upkeep/use/file/", form, follow=True).content.decode()


def upload(text: str | bytes) -> SimpleUploadedFile:
    return SimpleUploadedFile("use.csv", text.encode() if isinstance(text, str) else text)


def test_one_tap_records_material_way_and_count(cast: Cast, signed_in: Any) -> None:
    tap(cast, signed_in(cast.assistant))
    row = Use.objects.get()
    assert (row.units, row.material, row.wet, row.recorded_by) == (1, "glass-ceramic", True, cast.assistant.person)


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("units", "-3", "The number must be at least one."),
        ("units", "1000000000", "cannot be right. Enter at most 100,000."),
        ("units", "two", "Write a whole number, such as 3."),
        ("what", "gold|wet", "Tap one of the materials."),
        ("day", "3 Jan 2025", "was not in service yet."),
    ],
)
def test_bad_use_is_refused_by_name(cast: Cast, signed_in: Any, field: str, value: str, says: str) -> None:
    assert says in tap(cast, signed_in(cast.assistant), **{field: value})
    assert not Use.objects.exists()


def test_a_file_is_shown_before_anything_is_recorded(cast: Cast, signed_in: Any) -> None:
    page = send(cast, signed_in(cast.assistant), file=upload(GOOD))
    assert "2 of 2 lines would be recorded." in page
    assert not Use.objects.exists()


def test_a_file_sent_twice_records_once(cast: Cast, signed_in: Any) -> None:
    for _ in range(2):
        send(cast, signed_in(cast.assistant), text=GOOD, record="yes")
    assert [row.units for row in Use.objects.all()] == [3, 3]


def test_every_fault_is_named_by_line_and_column_and_nothing_is_recorded(cast: Cast, signed_in: Any) -> None:
    text = f"day,unit,units,material,way\n{TODAY},unit 9,3,,\n{TODAY},unit 1,-3,gold,damp\n2025-01-01,unit 1,1,,\n"
    page = send(cast, signed_in(cast.assistant), text=text, record="yes")
    assert "5 things are wrong in the file. Nothing was recorded." in page
    rows = [" ".join(row.text.split()[:2]) for row in parsed(page).walk() if row.tag == "tr"]
    assert sorted(rows[1:]) == ["2 unit", "3 material", "3 units", "3 way", "4 day"]
    assert not Use.objects.exists()


def test_a_file_that_is_no_table_is_refused_with_its_remedy(cast: Cast, signed_in: Any) -> None:
    assert "This is a PDF, not a CSV file." in send(cast, signed_in(cast.assistant), file=upload(b"%PDF-1.7"))
    assert "Choose the file." in send(cast, signed_in(cast.assistant))


def test_use_of_the_mill_counts_for_the_tank_that_is_part_of_it_when_it_is_wet(cast: Cast) -> None:
    tank = Equipment.objects.create(
        site=cast.lane, kind="coolant tank", label="tank", part_of=cast.unit, in_service_from=REGISTER_START
    )
    UpkeepTask.objects.create(
        code="U05", title="Water change", equipment_kind="coolant tank", every_days=400, every_units=30
    )
    for units, wet in ((5, True), (7, False), (11, None)):
        log_use(cast.unit, units, site=cast.lane, by=cast.assistant.person, day=TODAY, wet=wet)
    (one,) = unit_tasks(cast.lane, [tank])
    assert one.units_on(TODAY) == 16


def test_the_forecast_is_a_range_of_days(cast: Cast) -> None:
    for days in range(10):
        log_use(cast.unit, 1, site=cast.lane, by=cast.assistant.person, day=TODAY - timedelta(days=days))
    (counter,) = counters(cast.lane, cast.unit, TODAY)
    assert (counter.units, counter.mark) == (10, 20)
    assert counter.due.startswith("Between ")
    assert counter.due.endswith(" (90 % range).")


def test_without_use_no_latest_day_is_promised(cast: Cast) -> None:
    (counter,) = counters(cast.lane, cast.unit, TODAY)
    assert "no latest day can be given" in counter.due


def test_another_sites_unit_is_not_there(cast: Cast, signed_in: Any) -> None:
    page = f"/{cast.lane.code}/upkeep/unit/{cast.other_unit.pk}/use/"
    assert signed_in(cast.assistant).get(page).status_code == 404
    assert "No unit here is called “unit 2”." in send(
        cast, signed_in(cast.assistant), text=f"day,unit,units\n{TODAY},unit 2,3\n", record="yes"
    )


def test_the_same_tap_twice_is_one_use(cast: Cast, signed_in: Any) -> None:
    once = str(uuid4())
    for _ in range(2):
        tap(cast, signed_in(cast.assistant), submission=once)
    assert Use.objects.count() == 1


def test_bad_use_keeps_what_was_typed(cast: Cast, signed_in: Any) -> None:
    assert 'value="-3"' in tap(cast, signed_in(cast.assistant), units="-3")


@pytest.mark.parametrize(
    ("found", "says"),
    [
        (DaysUntil(0, 0.0, 0, "The mark is reached."), "The mark is reached."),
        (DaysUntil(4000, 5000.0, 90_000_000, ""), "Not within ten years, as it is used now."),
        (
            DaysUntil(5, 9.0, 90_000_000, ""),
            "Not before 6 January 2025, and perhaps not within ten years (90 % range).",
        ),
        (DaysUntil(5, 9.0, 12, ""), "Between 6 January 2025 and 13 January 2025 (90 % range)."),
    ],
)
def test_a_forecast_names_no_day_beyond_ten_years(found: DaysUntil, says: str) -> None:
    """S-74 (own rule): a range, and nothing that promises too much."""
    assert forecast_words(found, date(2025, 1, 1)) == says
