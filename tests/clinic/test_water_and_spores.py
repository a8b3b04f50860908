"""Water results, lines and tanks apart; sterilisers out of service and back by their spore tests."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clinic.actions.readings import DoneTask, LaterReading, log_work, read_result
from clinic.actions.water import set_limit
from clinic.models import (
    CoolantBands,
    Equipment,
    FollowUp,
    LoadReleased,
    OutOfService,
    ResultRead,
    SiteFact,
    SiteFactValue,
    UpkeepEntry,
    UpkeepTask,
    WaterLimit,
)
from clinic.reads.follow_ups import follow_ups, open_follow_ups
from clinic.reads.readings import asked_at
from clinic.reads.site_answers import answers_at, answers_in_words
from clinic.reads.spores import sterilisers
from clinic.reads.upkeep import unit_tasks
from clinic.reads.water import lines, tanks
from clinic.reads.water_limits import limits_of
from clinic.record import Refused, record, void
from clinic.rules.roles import KIND_OF
from clinic.rules.spans import on
from clinic.rules.spores import SporeState
from tests.cast import REGISTER_START, Cast
from tests.equipment_findings import equipment_findings

pytestmark = pytest.mark.django_db
TODAY = date.today()


def unit(cast: Cast, kind: str, label: str) -> Equipment:
    return Equipment.objects.create(site=cast.lane, kind=kind, label=label, in_service_from=REGISTER_START)


def said(day: date) -> str:
    return f"{day:%-d %b %Y}"


def log(cast: Cast, task: UpkeepTask, on: Equipment, **readings: str) -> Any:
    who = cast.supervisor.person
    return log_work(DoneTask(task, on, cast.lane, who, TODAY, readings=readings, id=uuid4()), by=who)


def sampled(kind: str, code: str, **limits: Any) -> UpkeepTask:
    readings = [{"key": "cfu", "label": "Colonies", "kind": "number", "unit": "CFU/mL"} | limits]
    role = next(role for role, of in KIND_OF.items() if of == kind)
    return UpkeepTask.objects.create(
        code=code, title="Sample", equipment_kind=kind, every_days=90, readings=readings, stands_for=role
    )


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
    assert "1 of " in page and "failed the last sample." in page


@pytest.fixture
def spore_task() -> UpkeepTask:
    choice = {"kind": "choice", "choices": ["growth", "no growth"]}
    readings = [
        {"key": "test", "label": "The test", "good": ["no growth"], "later": True} | choice,
        {"key": "control", "label": "The control", "good": ["growth"], "later": True} | choice,
        {"key": "hours", "label": "Incubated for", "kind": "number", "unit": "h", "later": True, "optional": True},
        {"key": "same_lot", "label": "Of one lot", "kind": "yes/no"},
    ]
    return UpkeepTask.objects.create(
        code="U10",
        stands_for="spore test",
        title="Spore test",
        equipment_kind="steriliser",
        every_days=7,
        readings=readings,
    )


GOOD = {"test": "no growth", "control": "growth", "same_lot": "yes"}
BAD = GOOD | {"test": "growth"}


def state(cast: Cast) -> SporeState:
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
    assert (state(cast), OutOfService.objects.get().equipment) == (SporeState.OUT, one)
    assert "Its spore tests say: out of service." in client.post(back, done).content.decode()
    log(cast, spore_task, one, **GOOD)
    assert state(cast) is SporeState.IN_USE


def test_no_load_is_released_while_the_spore_tests_hold_it(cast: Cast, signed_in: Any, spore_task: UpkeepTask) -> None:
    """W-18, W-19: an invalid test releases nothing until it was repeated, whatever the load's own monitors show."""
    one, client = unit(cast, "steriliser", "steriliser"), signed_in(cast.supervisor)
    form = {"load": "7", "readings_fine": "on", "inside_changed": "on", "inside_visible": "on"}
    page = f"/{cast.lane.code}/upkeep/equipment/{one.pk}/load/"
    log(cast, spore_task, one, test="no growth")
    refused = client.post(page, form | {"submission": str(uuid4())}).content.decode()
    assert "Its spore tests say: repeat the test." in refused
    log(cast, spore_task, one, **GOOD)
    client.post(page, form | {"submission": str(uuid4())})
    assert LoadReleased.objects.count() == 1


def test_two_positives_ask_for_repair_and_three_empty_passes(
    cast: Cast, signed_in: Any, spore_task: UpkeepTask
) -> None:
    """W-18 (from memory): repeat positive → repair → three passes in a row, chamber empty → in use."""
    one, client = unit(cast, "steriliser", "steriliser"), signed_in(cast.supervisor)
    for _ in range(2):
        log(cast, spore_task, one, **BAD)
    assert state(cast) is SporeState.REPAIR
    tap(cast, client, one, "repaired")
    for _ in range(3):
        assert state(cast) is SporeState.REPAIR
        tap(cast, client, one, "empty chamber", entry=log(cast, spore_task, one, **GOOD).entry.pk)
    assert state(cast) is SporeState.IN_USE


def put_in(cast: Cast, client: Any, one: Equipment, **more: str) -> str:
    form = {
        "submission": str(uuid4()),
        "done_by": str(cast.supervisor.person.pk),
        "day": said(TODAY),
        "reading_same_lot": "yes",
    }
    return client.post(f"/{cast.lane.code}/upkeep/unit/{one.pk}/log/U10/", form | more, follow=True).content.decode()


def read(cast: Cast, client: Any, entry: UpkeepEntry, on: date = TODAY, **readings: str) -> str:
    form = {"submission": str(uuid4()), "done_by": str(cast.supervisor.person.pk), "day": said(on)}
    typed = {f"reading_{key}": value for key, value in readings.items()}
    page = f"/{cast.lane.code}/upkeep/entries/{entry.pk}/result/"
    return client.post(page, form | typed, follow=True).content.decode()


def test_a_test_put_in_heals_nothing_until_it_is_read(cast: Cast, signed_in: Any, spore_task: UpkeepTask) -> None:
    """W-18, W-19: out until a repeat is read as negative; put in alone it is neither pass nor fail."""
    one, client = unit(cast, "steriliser", "steriliser"), signed_in(cast.supervisor)
    log(cast, spore_task, one, **BAD)
    put_in(cast, client, one, read_later="on")
    waiting = UpkeepEntry.objects.latest("recorded_at")
    assert (state(cast), waiting.readings) == (SporeState.OUT, {"same_lot": "yes"})
    assert "put in, read later</b>" in client.get(f"/{cast.lane.code}/upkeep/spore-tests/").content.decode()
    assert not waiting.follow_ups.exists()
    assert "The result of steriliser is recorded." in read(cast, client, waiting, test="no growth", control="growth")
    assert state(cast) is SporeState.IN_USE
    assert "Its result is recorded already." in read(cast, client, waiting, test="growth", control="growth")
    assert ResultRead.objects.count() == 1


def test_how_long_a_test_was_kept_warm_may_be_noted_and_is_no_result_by_itself(
    cast: Cast, signed_in: Any, spore_task: UpkeepTask
) -> None:
    one, client = unit(cast, "steriliser", "steriliser"), signed_in(cast.supervisor)
    put_in(cast, client, one, read_later="on")
    entry = UpkeepEntry.objects.get()
    assert "The test: no reading." in read(cast, client, entry, hours="24")
    with pytest.raises(Refused, match="Nothing was read"):
        read_result(LaterReading(entry, cast.supervisor.person, TODAY, {"hours": "24"}), by=cast.supervisor.person)
    read(cast, client, entry, test="no growth", control="growth", hours="24")
    page = client.get(f"/{cast.lane.code}/upkeep/spore-tests/").content.decode()
    assert f"Incubated 24 h. Read by {cast.supervisor.person}." in page


def test_a_test_whose_warmth_nobody_noted_is_recorded_without_a_word(
    cast: Cast, signed_in: Any, spore_task: UpkeepTask
) -> None:
    one, client = unit(cast, "steriliser", "steriliser"), signed_in(cast.supervisor)
    put_in(cast, client, one, reading_test="no growth", reading_control="growth")
    assert "hours" not in UpkeepEntry.objects.get().readings
    page = client.get(f"/{cast.lane.code}/upkeep/spore-tests/").content.decode()
    assert f"Read by {cast.supervisor.person}." in page and "Incubated" not in page


def test_the_number_of_a_laboratorys_report_stands_beside_the_count(cast: Cast, signed_in: Any) -> None:
    report = {"key": "report", "label": "Number of its report", "kind": "text", "optional": True}
    task = sampled("dental-unit water line", "U12")
    task.readings.append(report)
    log(cast, task, unit(cast, "dental-unit water line", "line 1"), cfu="40", report="26-0904")
    page = signed_in(cast.supervisor).get(f"/{cast.lane.code}/upkeep/water/").content.decode()
    assert "Report 26-0904." in page


def test_a_fail_that_is_read_later_takes_the_steriliser_out_that_day(
    cast: Cast, signed_in: Any, spore_task: UpkeepTask
) -> None:
    one, client, eve = unit(cast, "steriliser", "steriliser"), signed_in(cast.supervisor), TODAY - timedelta(days=2)
    put_in(cast, client, one, read_later="on", day=said(eve))
    entry = UpkeepEntry.objects.get()
    assert state(cast) is SporeState.IN_USE
    assert "A spore test failed" not in put_in(cast, client, one, read_later="on", reading_test="growth")
    read(cast, client, entry, test="growth", control="growth")
    assert (state(cast), OutOfService.objects.get().happened_on) == (SporeState.OUT, TODAY)
    assert entry.follow_ups.get().happened_on == TODAY
    found = sterilisers(cast.lane, TODAY)[0]
    assert found.story.out_since == TODAY
    assert sterilisers(cast.lane, eve)[0].status.waiting == (eve,)


@pytest.mark.parametrize(
    ("days", "readings", "says"),
    [
        (-3, {"test": "growth", "control": "growth"}, "It was put in on"),
        (1, {"test": "growth", "control": "growth"}, "The day of reading has not come."),
        (0, {"test": "growth"}, "The control: no reading."),
    ],
)
def test_a_result_that_cannot_be_is_refused(
    cast: Cast, signed_in: Any, spore_task: UpkeepTask, days: int, readings: dict[str, str], says: str
) -> None:
    one, client = unit(cast, "steriliser", "steriliser"), signed_in(cast.supervisor)
    put_in(cast, client, one, read_later="on")
    assert says in read(cast, client, UpkeepEntry.objects.get(), TODAY + timedelta(days=days), **readings)
    assert not ResultRead.objects.exists()


def test_a_test_that_nobody_reads_is_a_finding_after_a_week(cast: Cast, spore_task: UpkeepTask) -> None:
    """Incubation takes one to seven days (common practice, from memory)."""
    one, eve = unit(cast, "steriliser", "steriliser"), TODAY - timedelta(days=8)
    who = cast.supervisor.person
    entry = log_work(DoneTask(spore_task, one, cast.lane, who, eve, note="in the incubator"), by=who).entry
    assert [f.code for f in equipment_findings(cast.lane, eve + timedelta(days=7)) if "spore" in f.code] == []
    assert [f.code for f in equipment_findings(cast.lane, TODAY) if "spore" in f.code] == ["spore test unread"]
    read_result(LaterReading(entry, who, TODAY, {"test": "no growth", "control": "growth"}), by=who)
    assert "spore test unread" not in [f.code for f in equipment_findings(cast.lane, TODAY)]


def test_a_test_without_a_control_proves_nothing(cast: Cast, signed_in: Any, spore_task: UpkeepTask) -> None:
    one = unit(cast, "steriliser", "steriliser")
    log(cast, spore_task, one, test="no growth")
    page = signed_in(cast.assistant).get(f"/{cast.lane.code}/upkeep/spore-tests/").content.decode()
    assert state(cast) is SporeState.REPEAT
    assert "invalid</b>, no control" in page


@pytest.mark.parametrize("typed", ["≥ 300", ">300", ">=300"])
def test_a_count_too_many_to_count_never_passes(cast: Cast, typed: str) -> None:
    """S-94: above the plate's top it is at least that much; below the limit D, the safe side."""
    task = sampled("dental-unit water line", "U12")
    log(cast, task, unit(cast, "dental-unit water line", "line 1"), cfu=typed)
    (line,) = lines(cast.lane, TODAY)
    assert (line.good, "≥ 300 CFU/mL" in line.results[0].says) == (False, True)


def test_a_bad_sample_is_followed_up_on_the_water_page_until_a_good_one(cast: Cast, signed_in: Any) -> None:
    task = sampled("dental-unit water line", "U12", high=500, what_to_do="Treat the line.", follow_up_days=1)
    line, client = unit(cast, "dental-unit water line", "line 1"), signed_in(cast.assistant)
    page = f"/{cast.lane.code}/upkeep/water/"
    log(cast, task, line, cfu="48000")
    assert "Treat the line. A good sample is due by" in client.get(page).content.decode()
    log(cast, task, line, cfu="120")
    assert "A good sample is due by" not in client.get(page).content.decode()


def test_a_sample_after_a_bad_one_says_what_the_treatment_did(cast: Cast) -> None:
    """S-91: 48 000 → 120 is 2.6021 log units, 99.75 %."""
    task, line = sampled("dental-unit water line", "U12"), unit(cast, "dental-unit water line", "line 1")
    for cfu in ("48000", "120", "60"):
        log(cast, task, line, cfu=cfu)
    said = [result.since_bad for result in lines(cast.lane, TODAY)[0].results]
    assert said == ["", "2.60 log units fewer than before (99.75 %).", ""]


def test_the_geometric_mean_looks_back_and_judges_nothing(cast: Cast) -> None:
    """S-90, S-93: GM(300, 450, 520, 80) = 273.75, and yet 520 failed by itself."""
    task, line = sampled("dental-unit water line", "U12"), unit(cast, "dental-unit water line", "line 1")
    for cfu in ("300", "450", "520", "80"):
        log(cast, task, line, cfu=cfu)
    found = lines(cast.lane, TODAY)[0]
    assert found.mean is not None
    assert round(found.mean.value, 2) == 273.75
    assert [result.good for result in found.results] == [True, False, True, True]


def bands(cast: Cast, client: Any, **changes: str) -> str:
    form = {"submission": str(uuid4()), "edition": "UK HSE page of 28 November 2012", "reasonable_from": "1000",
            "poor_from": "1000000", "from_day": f"{TODAY:%d %b %Y}"}  # fmt: skip
    return client.post(f"/{cast.lane.code}/upkeep/water/bands/", form | changes, follow=True).content.decode()


def test_another_edition_judges_what_is_sampled_after_it_and_nothing_before(cast: Cast, signed_in: Any) -> None:
    """W-11: the 2012 edition has 10^3 as the edge of good; a result keeps the edges it was judged by."""
    task, tank = sampled("coolant tank", "U06"), unit(cast, "coolant tank", "tank")
    log(cast, task, tank, cfu="5000")
    bands(cast, signed_in(cast.coordinator))
    log(cast, task, tank, cfu="5000")
    (found,) = tanks(cast.lane, TODAY)
    assert [result.good for result in found.results] == [False, True]
    assert "good below 1,000" in found.limit


def test_the_log_asks_by_the_edition_in_force(cast: Cast, signed_in: Any) -> None:
    task, tank = sampled("coolant tank", "U06", below=10000), unit(cast, "coolant tank", "tank")
    bands(cast, signed_in(cast.coordinator))
    assert [spec.below for spec in asked_at(cast.lane, tank, task).specs] == [1000]


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("poor_from", "1000", "Poor begins above reasonable. Write more than 1,000."),
        ("reasonable_from", "-5", "Write a number above 0."),
        ("poor_from", "many", "Write a whole number, such as 10000."),
        ("from_day", "1 Jan 2020", "It is before the register started."),
        ("edition", "", "Say which edition it is."),
    ],
)
def test_wrong_bands_are_refused_by_name(cast: Cast, signed_in: Any, field: str, value: str, says: str) -> None:
    assert says in bands(cast, signed_in(cast.coordinator), **{field: value})
    assert not CoolantBands.objects.exists()


def test_a_passed_repeat_still_waits_for_somebody_to_return_the_unit(
    cast: Cast, signed_in: Any, spore_task: UpkeepTask
) -> None:
    one, page = unit(cast, "steriliser", "steriliser"), f"/{cast.lane.code}/upkeep/spore-tests/"
    log(cast, spore_task, one, **BAD)
    assert "a spore test failed." in signed_in(cast.assistant).get(page).content.decode()
    log(cast, spore_task, one, **GOOD)
    said = signed_in(cast.assistant).get(page).content.decode()
    assert "Out of service until somebody returns it" in said
    assert "1 of 1 steriliser may not run loads" in said


@pytest.mark.parametrize(("read", "recall"), [({"run_readings": "no"}, True), ({"implant": "yes"}, True), ({}, False)])
def test_a_first_fail_recalls_at_once_where_a_reading_failed_or_an_implant_was_in(
    cast: Cast, spore_task: UpkeepTask, read: dict[str, str], recall: bool
) -> None:
    """W-18 (cautious reading, M and D)."""
    log(cast, spore_task, unit(cast, "steriliser", "steriliser"), **BAD | read)
    assert sterilisers(cast.lane, TODAY)[0].status.recall is recall


def test_another_sites_steriliser_and_test_are_refused(cast: Cast, signed_in: Any, spore_task: UpkeepTask) -> None:
    far = Equipment.objects.create(site=cast.court, kind="steriliser", label="far", in_service_from=REGISTER_START)
    form = {"submission": str(uuid4()), "equipment": str(far.pk), "what": "repaired"}
    said = signed_in(cast.supervisor).post(f"/{cast.lane.code}/upkeep/spore-tests/", form).content.decode()
    assert "Choose a steriliser of this site." in said


def test_an_empty_chamber_is_said_of_ones_own_test_only(cast: Cast, signed_in: Any, spore_task: UpkeepTask) -> None:
    one, other = unit(cast, "steriliser", "steriliser"), unit(cast, "steriliser", "the other")
    entry = log(cast, spore_task, other, **GOOD).entry
    form = {"submission": str(uuid4()), "equipment": str(one.pk), "what": "empty chamber", "entry": str(entry.pk)}
    said = signed_in(cast.supervisor).post(f"/{cast.lane.code}/upkeep/spore-tests/", form).content.decode()
    assert "That test was of another steriliser." in said


def test_the_unit_and_the_due_list_say_it_first_while_a_reading_is_out(cast: Cast, signed_in: Any) -> None:
    task = sampled("dental-unit water line", "U12", high=500, what_to_do="Treat the line.", follow_up_days=1)
    line, client = unit(cast, "dental-unit water line", "line 1"), signed_in(cast.assistant)
    log(cast, task, line, cfu="900")
    assert (
        f"out of limits since {TODAY:%-d %B %Y}"
        in client.get(f"/{cast.lane.code}/upkeep/equipment/{line.pk}/").content.decode()
    )
    due = client.get(f"/{cast.lane.code}/upkeep/").context["care"]
    assert "1 reading out of limits" in due.head.says
    assert due.units[0].unit == line


def test_ten_lines_and_sterilisers_ask_the_database_as_much_as_one(cast: Cast, signed_in: Any) -> None:
    def asks(page: str) -> int:
        with CaptureQueriesContext(connection) as seen:
            signed_in(cast.assistant).get(f"/{cast.lane.code}/upkeep/{page}/")
        return len(seen)

    def ask_both(count: int) -> list[int]:
        for number in range(count):
            unit(cast, "dental-unit water line", f"line {count} {number}")
            unit(cast, "steriliser", f"steriliser {count} {number}")
        return [asks("water"), asks("spore-tests")]

    asks("water")  # what a process reads once
    assert ask_both(1) == ask_both(9)


# ---------- the maker's limit, the two days of a sample, and what a line is asked while it is not proved ----------


def line_of(cast: Cast, label: str = "line 1", **more: Any) -> Equipment:
    said = {"site": cast.lane, "kind": "dental-unit water line", "label": label, "in_service_from": REGISTER_START}
    return Equipment.objects.create(**said | more)


def water_task(code: str = "U12", **more: Any) -> UpkeepTask:
    limits = {"high": 500, "site_limit": "water limit", "needs_limit": True, "later": True, "follow_up_days": 1}
    task = sampled("dental-unit water line", code, **limits)
    for name, value in more.items():
        setattr(task, name, value)
    task.save()
    return task


def sample(cast: Cast, task: UpkeepTask, line: Equipment, day: date, cfu: str, read_on: date | None = None) -> Any:
    who = cast.supervisor.person
    return log_work(DoneTask(task, line, cast.lane, who, day, readings={"cfu": cfu}, read_on=read_on), by=who)


def set_200(cast: Cast, from_day: date = TODAY, source: str = "Manual of 2024, page 17") -> None:
    set_limit(cast.lane, None, 200, source, from_day, by=cast.owner.person)


def test_the_limit_is_the_number_and_never_one_that_the_source_names(cast: Cast, signed_in: Any) -> None:
    """W-05: 200 where the maker says 200, whatever else its page says."""
    client, task, line = signed_in(cast.coordinator), water_task(), line_of(cast)
    form = {"submission": str(uuid4()), "number": "200", "source": "Manual of 2024, page 17", "from_day": said(TODAY)}
    page = f"/{cast.lane.code}/upkeep/water/limit/"
    assert "Only the number." in client.post(page, form | {"number": "200 CFU/mL"}).content.decode()
    assert "Write a whole number" in client.post(page, form | {"number": "page 17: 200"}).content.decode()
    client.post(page, form)
    assert asked_at(cast.lane, line, task).numbers["water limit"] == 200
    assert "at most 200 CFU/mL, the maker’s own limit (Manual of 2024, page 17)" in lines(cast.lane, TODAY)[0].limit


def test_a_text_with_numbers_in_it_is_no_limit(cast: Cast) -> None:
    fact = SiteFact.objects.create(name="water limit", of="dental unit", ask="", question=14)
    row = SiteFactValue(site=cast.lane, happened_on=TODAY, site_fact=fact, value="Manual of 2024, page 17: 200 CFU/mL")
    record(row, by=cast.owner.person)
    assert "water limit" not in asked_at(cast.lane, line_of(cast), water_task()).numbers
    assert lines(cast.lane, TODAY)[0].limit == "at most 500 CFU/mL"
    set_200(cast)
    assert answers_in_words(answers_at(cast.lane, None))["water limit"] == "200 CFU/mL"


def test_a_hair_above_the_limit_is_out_on_every_page(cast: Cast, signed_in: Any) -> None:
    """W-05: 200.6 at a limit of 200."""
    client, task, line = signed_in(cast.assistant), water_task(), line_of(cast)
    set_200(cast)
    sample(cast, task, line, TODAY, "200.6")
    assert "200.6 CFU/mL, limit 200: fail." in client.get(f"/{cast.lane.code}/upkeep/water/").content.decode()
    unit_page = client.get(f"/{cast.lane.code}/upkeep/equipment/{line.pk}/").content.decode()
    assert "out of limits since" in unit_page
    assert "1 reading out of limits" in client.get(f"/{cast.lane.code}/upkeep/").context["care"].head.says


def test_each_sample_keeps_the_limit_of_its_day(cast: Cast) -> None:
    """A limit entered later, or from a later day, judges nothing that was sampled before."""
    task, line, eve = water_task(), line_of(cast), TODAY - timedelta(days=3)
    sample(cast, task, line, eve, "300")
    set_200(cast)
    late = sample(cast, task, line, TODAY - timedelta(days=1), "300")
    now = sample(cast, task, line, TODAY, "300")
    (found,) = lines(cast.lane, TODAY)
    assert [(one.day, one.good) for one in found.results] == [
        (TODAY, False), (TODAY - timedelta(days=1), True), (eve, True)
    ]  # fmt: skip
    assert [bool(each.out) for each in (late, now)] == [False, True]


def test_the_lines_own_limit_comes_before_that_of_its_unit_and_of_the_site(cast: Cast) -> None:
    chair = unit(cast, "dental unit", "chair")
    line, other = line_of(cast, part_of=chair), line_of(cast, "line 2")
    for place, number in ((None, 400), (chair, 300), (line, 100)):
        set_limit(cast.lane, place, number, "p. 3", TODAY, by=cast.owner.person)
        assert [limits_of(cast.lane).number(one, TODAY) for one in (line, other)] == [number, 400]


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"source": ""}, "Name the instructions"),
        ({"number": "0"}, "above 0"),
        ({"from_day": said(TODAY + timedelta(days=1))}, "That day has not come."),
    ],
)
def test_a_limit_without_its_source_or_from_a_day_to_come_is_refused(
    cast: Cast, signed_in: Any, changes: dict[str, str], says: str
) -> None:
    form = {"submission": str(uuid4()), "number": "200", "source": "p. 17", "from_day": said(TODAY)}
    page = signed_in(cast.coordinator).post(f"/{cast.lane.code}/upkeep/water/limit/", form | changes)
    assert says in page.content.decode()
    assert not WaterLimit.objects.exists()


@pytest.mark.parametrize("cfu", ["<1", "<10", ">300", "≥ 300"])
def test_more_than_and_less_than_are_values_of_the_form(cast: Cast, signed_in: Any, cfu: str) -> None:
    """S-90, S-94."""
    task, line = water_task(), line_of(cast)
    form = {
        "submission": str(uuid4()),
        "done_by": str(cast.supervisor.person.pk),
        "day": said(TODAY),
        "reading_cfu": cfu,
    }
    page = f"/{cast.lane.code}/upkeep/unit/{line.pk}/log/{task.code}/"
    assert signed_in(cast.supervisor).post(page, form).status_code == 302
    assert lines(cast.lane, TODAY)[0].good is cfu.startswith("<")


def test_the_day_of_the_sample_and_the_day_of_reading_are_two(cast: Cast, signed_in: Any) -> None:
    task, line, eve = water_task(follow_up_days=1), line_of(cast), TODAY - timedelta(days=3)
    client, page = signed_in(cast.supervisor), f"/{cast.lane.code}/upkeep/unit/{line.pk}/log/{task.code}/"
    form = {
        "submission": str(uuid4()),
        "done_by": str(cast.supervisor.person.pk),
        "day": said(eve),
        "reading_cfu": "900",
    }
    wrong = client.post(page, form | {"read_on": said(eve - timedelta(days=1))}).content.decode()
    assert "It was read before it was put in." in wrong
    for _ in range(2):  # sent twice
        client.post(page, form | {"read_on": said(TODAY)})
    (entry,) = UpkeepEntry.objects.all()
    assert (entry.happened_on, entry.readings, entry.result.happened_on) == (eve, {}, TODAY)
    opened = FollowUp.objects.get()
    assert (opened.happened_on, opened.due_on) == (TODAY, TODAY + timedelta(days=1))
    (found,) = lines(cast.lane, TODAY)
    assert (found.results[0].day, found.results[0].read_on) == (eve, TODAY)
    assert lines(cast.lane, eve)[0].results == []
    assert f"</b>, read {TODAY:%-d %B %Y}" in client.get(f"/{cast.lane.code}/upkeep/water/").content.decode()


def test_taking_the_good_sample_back_opens_its_follow_up_again_and_taking_the_bad_one_back_ends_it(cast: Cast) -> None:
    task, line, owner = water_task(), line_of(cast), cast.owner.person
    bad = sample(cast, task, line, TODAY, "900").entry
    good = sample(cast, task, line, TODAY, "9")
    assert (good.closed, open_follow_ups(cast.lane)) == (1, [])
    again = sample(cast, task, line, TODAY, "8").entry
    void(good.entry, by=owner, reason="Another line's plate.")
    assert open_follow_ups(cast.lane) == []  # the later good one stands
    void(again, by=owner, reason="Another line's plate.")
    assert [row.entry for row in open_follow_ups(cast.lane)] == [bad]
    void(bad, by=owner, reason="Another line's plate.")
    assert follow_ups(cast.lane) == []


def test_taking_the_result_back_takes_its_follow_up_with_it(cast: Cast) -> None:
    task, line = water_task(), line_of(cast)
    sample(cast, task, line, TODAY - timedelta(days=2), "900", read_on=TODAY)
    assert len(open_follow_ups(cast.lane)) == 1
    void(ResultRead.objects.get(), by=cast.owner.person, reason="Read wrongly.")
    assert open_follow_ups(cast.lane) == []
    assert len(lines(cast.lane, TODAY)[0].unread) == 1


def due_every(cast: Cast, line: Equipment) -> int | None:
    (one,) = unit_tasks(cast.lane, [line])
    return one.rule_on(TODAY).every_days


def test_a_failed_line_is_sampled_every_30_days_until_two_passes_in_a_row(cast: Cast) -> None:
    """U12, common practice, from memory; its days and its reason on the water page."""
    task, line, first = water_task(closer_days=30), line_of(cast), TODAY - timedelta(days=40)
    assert due_every(cast, line) == 90
    sample(cast, task, line, first, "900")
    assert due_every(cast, line) == 30
    assert "because a sample failed" in lines(cast.lane, TODAY)[0].closer
    (one,) = unit_tasks(cast.lane, [line])
    assert on(one.spans, first + timedelta(days=31)).state == "overdue"
    passes = [sample(cast, task, line, first + timedelta(days=n), "9").entry for n in (2, 20)]
    assert (due_every(cast, line), lines(cast.lane, TODAY)[0].closer) == (90, "")
    void(passes[0], by=cast.owner.person, reason="Another line's plate.")
    assert due_every(cast, line) == 30


def test_a_new_and_a_changed_line_are_sampled_more_often_too(cast: Cast, signed_in: Any) -> None:
    water_task(closer_days=30)
    new = line_of(cast, "new", in_service_from=max(TODAY - timedelta(days=1), REGISTER_START + timedelta(days=1)))
    old = line_of(cast, "old")
    assert [due_every(cast, line) for line in (new, old)] == [30, 90]
    page = f"/{cast.lane.code}/upkeep/equipment/{old.pk}/changed/"
    form = {"submission": str(uuid4()), "what": "New tubing.", "day": said(TODAY)}
    assert "is sampled more often" in signed_in(cast.assistant).post(page, form, follow=True).content.decode()
    assert due_every(cast, old) == 30


@pytest.mark.parametrize(
    ("cfu", "begins", "days"),
    [("10000", "From 10,000 to below", 7), ("999999", "From 10,000 to below", 7), ("1000000", "From 1,000,000: drain", 0), (">1500000", "From 1,000,000: drain", 0)],
)  # fmt: skip
def test_a_bad_count_tells_its_own_next_step_only_and_at_once_is_today(
    cast: Cast, signed_in: Any, cfu: str, begins: str, days: int
) -> None:
    """W-10; the days are our own choice."""
    task, tank = sampled("coolant tank", "U06", below=10000, follow_up_days=7), unit(cast, "coolant tank", "tank")
    log(cast, task, tank, cfu=cfu)
    opened = FollowUp.objects.get()
    assert opened.what_to_do.startswith(begins) and opened.what_to_do.count("From ") == 1
    assert opened.due_on == TODAY + timedelta(days=days)
    page = signed_in(cast.supervisor).get(f"/{cast.lane.code}/upkeep/unit/{tank.pk}/log/U06/").content.decode()
    assert 'data-worse="1e+06"' in page and 'data-then="From 1,000,000' in page


def test_the_newest_results_are_those_of_the_whole_list_with_the_mean_of_all(cast: Cast) -> None:
    task, line = water_task(), line_of(cast)
    for number, cfu in enumerate(("9", "900", "", "20", "0", "700", "3")):
        sample(cast, task, line, TODAY - timedelta(days=40 - number), cfu)
    (whole,) = lines(cast.lane, TODAY)
    for newest in (1, 2, 5, 6, 9):
        (some,) = lines(cast.lane, TODAY, newest=newest)
        assert replace(some, results=whole.results) == whole
        assert some.results == whole.results[:newest]
    assert len(whole.results) == whole.samples == 6 and len(whole.unread) == 1 and whole.results[4].since_bad == ""
    assert any(one.since_bad for one in whole.results)
