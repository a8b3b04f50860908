"""Units, their last-done days and counters in one table: on the page, from CSV and from a workbook."""

import re
from datetime import date
from typing import Any
from uuid import uuid4

import pytest

from clinic.clock import today
from clinic.forms.tables import TableForm
from clinic.models import Change, Equipment, OpeningReading, UpkeepTask
from clinic.table_files import as_file
from clinic.tables import TableLine, TablePlace
from clinic.unit_table import UnitTable
from clinic.workbooks import workbook
from tests.cast import Cast
from tests.tables import uploaded, words

pytestmark = pytest.mark.django_db
URL = "/millbrook-lane/people/roster/going-live/units/"
HEADS = ("kind", "label", "serial", "part_of", "in_service_from", "task", "last_done", "units")


@pytest.fixture
def table(cast: Cast) -> UnitTable:
    return UnitTable(TablePlace(cast.lane, today(cast.lane.time_zone), cast.coordinator.person))


def sent(lines: list[dict[str, str]], **more: Any) -> dict[str, Any]:
    """What a browser sends of a table whose lines nobody filled in before."""
    cells = {f"rn{at}-{name}": words for at, line in enumerate(lines) for name, words in line.items()}
    return {"submission": str(uuid4()), **{f"rn{at}-given": "" for at, _ in enumerate(lines)}, **cells, **more}


MILL = {"kind": "milling unit", "label": "unit 7", "in_service_from": "6 Jan 2025", "task": "T1", "last_done": "2 Jan 2025", "units": "4"}  # fmt: skip


@pytest.fixture(autouse=True)
def weekly(cast: Cast) -> UpkeepTask:
    return UpkeepTask.objects.filter(equipment_kind="milling unit").get()


def mill(cast: Cast, **more: str) -> dict[str, str]:
    return MILL | {"task": cast.task.code} | more


def test_units_and_what_they_stood_at_are_saved_in_one_go(signed_in: Any, cast: Cast) -> None:
    lines = [mill(cast), {"kind": "coolant tank", "label": "tank 7", "part_of": "unit 7"}]
    answer = signed_in(cast.coordinator).post(URL, sent(lines, **{"all-in_service_from": "6 Jan 2025"}))
    assert answer.status_code == 302
    tank, opened = Equipment.objects.get(label="tank 7"), OpeningReading.objects.get(equipment__label="unit 7")
    assert (tank.part_of and tank.part_of.label, tank.in_service_from) == ("unit 7", date(2025, 1, 6))
    assert (opened.last_done, opened.units, opened.recorded_by) == (date(2025, 1, 2), 4, cast.coordinator.person)
    assert Change.objects.filter(about="clinic.equipment", said__contains="unit 7").count() == 1


def test_what_the_page_shows_after_a_check_is_what_it_sends(signed_in: Any, cast: Cast) -> None:
    client, lines = signed_in(cast.coordinator), [{"kind": "milling unit", "label": "unit 7"}]
    shown = client.post(URL, sent(lines, check="yes", **{"all-in_service_from": "6 Jan 2025"})).content.decode()
    fields = dict(re.findall(r'<input[^>]* name="([^"]+)"[^>]* value="([^"]*)"', shown))
    kind = re.search(
        r'<select name="(r[^"]+-kind)"[^>]*>(?:(?!</select>).)*<option value="([^"]+)" selected', shown, re.S
    )
    last = next(name for name in re.findall(r'name="(r[^"]+)-label"', shown) if fields.get(f"{name}-label") == "unit 7")
    fields |= {kind[1]: kind[2], f"{last}-last_done": "2 Jan 2025"}  # type: ignore[index]
    assert client.post(URL, fields).status_code == 302
    assert OpeningReading.objects.get(equipment__label="unit 7").task == cast.task


def test_one_fault_saves_none_and_every_fault_stands_at_its_cell(signed_in: Any, cast: Cast) -> None:
    before = Equipment.objects.count()
    lines = [
        mill(cast), mill(cast, label="unit 8", last_done="31 Febuary"), mill(cast, label="unit 9", part_of="nothing"),
        {"label": "unit 10"},
    ]  # fmt: skip
    html = words(signed_in(cast.coordinator).post(URL, sent(lines)))
    assert (
        f"Unit 8, {cast.task.code}, last done on</a></b><p>Write the day with the month’s name, such as 25 Nov 2026.</p>"
        in html
    )
    assert "No unit here is called nothing. Write the name of a unit above it." in html
    assert "No unit here is called unit 10 yet. Choose its kind." in html
    assert "31 Febuary" in html and 'value="unit 7"' in html
    assert (Equipment.objects.count(), OpeningReading.objects.count()) == (before, 0)


def test_checking_says_what_would_be_recorded_and_records_nothing(signed_in: Any, cast: Cast) -> None:
    before = Equipment.objects.count()
    html = words(
        signed_in(cast.coordinator).post(URL, sent([{"kind": "milling unit", "label": "unit 7"}], check="yes"))
    )
    assert "1 line would be recorded. Nothing is saved yet." in html
    assert str(cast.task) in html  # its task now has a line of its own
    assert Equipment.objects.count() == before


def test_the_same_table_sent_anew_is_here_already(signed_in: Any, cast: Cast) -> None:
    client = signed_in(cast.coordinator)
    for _ in range(2):
        assert client.post(URL, sent([mill(cast)])).status_code == 302
    assert OpeningReading.objects.filter(equipment__label="unit 7").count() == 1


def test_another_last_day_than_the_recorded_one_is_refused_at_its_cell(signed_in: Any, cast: Cast) -> None:
    client = signed_in(cast.coordinator)
    client.post(URL, sent([mill(cast)]))
    assert "Its opening reading says 2 Jan 2025 already." in words(client.post(URL, sent([mill(cast, units="5")])))


def test_a_script_is_told_each_fault_by_the_name_of_its_field(signed_in: Any, cast: Cast) -> None:
    answer = signed_in(cast.coordinator).post(
        URL, sent([mill(cast, units="many")]), headers={"Accept": "application/json"}
    )
    assert answer.status_code == 422
    assert answer.json()["fields"] == {"rn0-units": ["Write a whole number, such as 12."]}
    assert answer.json()["refusals"] == [
        f"Unit 7, {cast.task.code}, parts or cycles since then: Write a whole number, such as 12."
    ]


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_the_sample_loads_as_it_is(signed_in: Any, cast: Cast, kind: str) -> None:
    client = signed_in(cast.coordinator)
    for code, of in (
        ("U01", "milling unit"),
        ("U03", "milling unit"),
        ("U05", "coolant tank"),
        ("U09", "torque driver"),
    ):
        UpkeepTask.objects.get_or_create(code=code, defaults={"title": code, "equipment_kind": of, "every_days": 7})
    sample = client.get(f"{URL}?as={kind}&sample=yes").content
    Equipment.objects.filter(label="unit 1").update(label="the old unit")
    html = words(client.post(URL, uploaded(sample, f"sample.{kind}")))
    assert "4 lines would be recorded. Nothing is saved yet." in html


def test_an_empty_file_has_the_heads_and_a_line_for_each_thing_that_is_asked(signed_in: Any, cast: Cast) -> None:
    text = signed_in(cast.coordinator).get(f"{URL}?as=csv").content.decode().splitlines()
    assert text == [",".join(HEADS), f",{cast.unit.label},,,,{cast.task},,"]


def test_a_file_says_each_fault_by_line_and_column(signed_in: Any, cast: Cast) -> None:
    text = ",".join(HEADS) + "\r\nmill,unit 7,,,,,,\r\ncoolant tank,tank 7,,,soon,,,\r\n"
    html = words(signed_in(cast.coordinator).post(URL, uploaded(text.encode(), "units.csv")))
    assert "Line 2, kind</a></b><p>“mill” is none of these. Write one of: Milling unit, " in html
    assert "Line 3, in service from</a></b><p>Write the day" in html


def test_a_workbook_is_read_as_the_same_lines(signed_in: Any, cast: Cast) -> None:
    book = workbook(
        "Units", HEADS, [["Milling unit", "=unit 7", "", "", "2025-01-06", cast.task.code, "2025-01-02", "4"]]
    )
    html = words(signed_in(cast.coordinator).post(URL, uploaded(book, "units.xlsx")))
    assert "1 line would be recorded." in html and 'value="=unit 7"' in html


def test_text_that_would_be_a_formula_is_guarded_in_the_file(table: UnitTable) -> None:
    content, _ = as_file(table, [TableLine({"label": "=1+1"})], "csv")
    assert ",'=1+1," in content.decode()


def test_only_whoever_keeps_the_roster_sees_it(signed_in: Any, cast: Cast) -> None:
    assert signed_in(cast.assistant).get(URL).status_code == 403
    assert signed_in(cast.elsewhere).get(URL).status_code == 404


def test_what_a_page_claims_was_filled_in_is_read_all_the_same(table: UnitTable) -> None:
    line = TableLine({"kind": "a boat", "label": "unit 7"}, frozenset({"kind"}))
    form = TableForm(table, [line], {}, read=True, beside={"submission": str(uuid4())})
    assert "“a boat” is none of these" in str(form.errors)
