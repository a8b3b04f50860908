"""The due list and the log page: what is shown, what is recorded, what is refused, and that nothing typed is lost."""

import re
from datetime import date, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from clinic import clock
from clinic.actions.upkeep import log_entry, return_unit, stop_unit
from clinic.models import Equipment, FollowUp, OutOfService, Seal, SiteFact, SiteFactValue, UpkeepEntry, UpkeepTask
from clinic.port import Roles
from clinic.reads.follow_ups import follow_ups
from clinic.record import Refused, record
from clinic.rules.stops import AT_ONCE
from tests import stand_in
from tests.cast import Cast

pytestmark = pytest.mark.django_db


@pytest.fixture
def task(cast: Cast) -> UpkeepTask:
    return cast.task


@pytest.fixture
def held(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> set[Any]:
    """Who may do every procedure alone, on every day: the supervisor."""
    holders = {cast.supervisor.person.pk}
    stand_in.usable(monkeypatch, holders)
    return holders


def address(cast: Cast, code: str = "U91") -> str:
    return f"/{cast.lane.code}/upkeep/unit/{cast.unit.pk}/log/{code}/"


def typed(cast: Cast, **changes: Any) -> dict[str, Any]:
    """A form filled in well by the supervisor."""
    return {
        "submission": str(uuid4()), "reading_tools": "yes", "reading_warm": "21", "reading_grown": "40",
        "done_by": str(cast.supervisor.person.pk), "stood_by": "", "day": f"{date.today():%d %b %Y}", "note": "",
    } | changes  # fmt: skip


def send(client: Client, cast: Cast, **changes: Any) -> Any:
    return client.post(address(cast), typed(cast, **changes), follow=True)


def test_a_unit_without_tasks_says_so(cast: Cast, signed_in: Any) -> None:
    UpkeepTask.objects.all().delete()
    page = signed_in(cast.assistant).get(f"/{cast.lane.code}/upkeep/").content.decode()
    assert "No upkeep task is set for this kind of unit." in page


def test_the_first_sentence_counts_what_is_overdue_and_since_when(cast: Cast, signed_in: Any, task: UpkeepTask) -> None:
    page = signed_in(cast.assistant).get(f"/{cast.lane.code}/upkeep/").content.decode()
    assert "1 task overdue since 14 January 2025." in page


def test_an_entry_is_recorded_and_ends_what_was_overdue(
    cast: Cast, signed_in: Any, task: UpkeepTask, held: Any
) -> None:
    page = send(signed_in(cast.supervisor), cast).content.decode()
    entry = UpkeepEntry.objects.get()
    assert (entry.done_by, entry.stood_by, entry.happened_on) == (cast.supervisor.person, None, date.today())
    assert entry.readings == {"tools": "yes", "warm": "21", "grown": "40"}
    assert "nothing is due" in page


def test_the_same_submission_twice_is_one_entry(cast: Cast, signed_in: Any, task: UpkeepTask, held: Any) -> None:
    client, form = signed_in(cast.supervisor), typed(cast, reading_warm="40")
    for _ in range(2):
        assert client.post(address(cast), form).status_code == 302
    assert (UpkeepEntry.objects.count(), FollowUp.objects.count()) == (1, 1)


def test_whoever_is_not_usable_is_told_who_could_stand_by(
    cast: Cast, signed_in: Any, task: UpkeepTask, held: Any
) -> None:
    client, doer = signed_in(cast.assistant), str(cast.assistant.person.pk)
    assert "Do it with Ines Pellow standing by, who may." in client.get(address(cast)).content.decode()
    page = send(client, cast, done_by=doer).content.decode()
    assert "Wren Adeyemi did not hold the procedure that day. Say who stood by: Ines Pellow could." in page
    assert not UpkeepEntry.objects.exists()


def test_nobody_standing_by_is_an_open_choice_and_a_finding(
    cast: Cast, signed_in: Any, task: UpkeepTask, held: Any
) -> None:
    doer = str(cast.assistant.person.pk)
    page = send(signed_in(cast.assistant), cast, done_by=doer, stood_by="nobody").content.decode()
    assert UpkeepEntry.objects.get().stood_by is None
    assert "nobody stood by. It is a finding" in page


def test_somebody_usable_standing_by_is_recorded(cast: Cast, signed_in: Any, task: UpkeepTask, held: Any) -> None:
    doer, helper = str(cast.assistant.person.pk), cast.supervisor.person
    page = send(signed_in(cast.assistant), cast, done_by=doer, stood_by=str(helper.pk)).content.decode()
    assert UpkeepEntry.objects.get().stood_by == helper
    assert "It is a finding" not in page


def test_a_reading_out_of_limits_says_what_to_do_and_stays_until_a_good_one(
    cast: Cast, signed_in: Any, task: UpkeepTask, held: Any
) -> None:
    client, today = signed_in(cast.supervisor), date.today()
    page = send(client, cast, reading_warm="40").content.decode()
    opened = FollowUp.objects.get()
    assert (opened.reading, opened.due_on) == ("warm", today + timedelta(days=2))
    assert "40 °C is over 28. Wait." in page
    assert "<b>Out of limits</b>" in page
    assert "<b>Out of limits</b>" not in send(client, cast).content.decode()
    assert closed() == [opened.pk]


def closed() -> list[UUID]:
    return [row.pk for row in follow_ups(FollowUp.objects.get().site) if row.closed_on]


def test_a_good_reading_of_an_earlier_day_closes_nothing(
    cast: Cast, signed_in: Any, task: UpkeepTask, held: Any
) -> None:
    client = signed_in(cast.supervisor)
    send(client, cast, reading_warm="40")
    send(client, cast, day=f"{date.today() - timedelta(days=1):%d %b %Y}")
    assert closed() == []


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("reading_warm", "warm", "is not a number. Enter digits."),
        ("reading_grown", "-5", "Colonies cannot be below 0."),
        ("reading_grown", "99999999999", "cannot be right. Enter at most 1,000,000,000."),
        ("reading_warm", "", "no reading. Enter it, or say in the note why not."),
        ("day", "03/04/26", "Write the day with the month’s name"),
        ("day", "5 Jan 2025", "was not in service yet."),
        ("day", "5 Jan 2090", "The day is in the future."),
        ("done_by", "00000000-0000-4000-8000-000000000000", "Choose somebody of this site."),
    ],
)
def test_bad_input_is_refused_by_name_and_loses_nothing(
    cast: Cast, signed_in: Any, task: UpkeepTask, held: Any, field: str, value: str, says: str
) -> None:
    page = send(
        signed_in(cast.supervisor), cast, **{"note": "" if value == "" else "kept words", field: value}
    ).content.decode()
    assert says in page
    assert value == "" or "kept words" in page
    assert not UpkeepEntry.objects.exists()


def test_a_missing_reading_is_taken_where_the_note_says_why(
    cast: Cast, signed_in: Any, task: UpkeepTask, held: Any
) -> None:
    send(signed_in(cast.supervisor), cast, reading_warm="", note="The thermometer is broken.")
    assert "warm" not in UpkeepEntry.objects.get().readings


def test_a_late_entry_is_taken_and_shown_as_such(cast: Cast, signed_in: Any, task: UpkeepTask, held: Any) -> None:
    page = send(signed_in(cast.supervisor), cast, day=f"{date.today() - timedelta(days=9):%d %b %Y}").content.decode()
    assert "written on " in page


def test_another_sites_unit_is_not_there(cast: Cast, signed_in: Any, task: UpkeepTask) -> None:
    page = f"/{cast.lane.code}/upkeep/unit/{cast.other_unit.pk}/log/U91/"
    client = signed_in(cast.supervisor)
    assert client.get(page).status_code == client.post(page, typed(cast)).status_code == 404


def test_a_task_of_another_kind_is_not_there(cast: Cast, signed_in: Any) -> None:
    UpkeepTask.objects.create(
        code="U10", stands_for="spore test", title="Spore test", equipment_kind="steriliser", every_days=7
    )
    assert signed_in(cast.supervisor).get(address(cast, "U10")).status_code == 404


def test_the_due_list_asks_as_much_with_fifty_entries_as_with_one(cast: Cast, signed_in: Any, task: UpkeepTask) -> None:
    client, who, asked = signed_in(cast.supervisor), cast.supervisor.person, []
    for days in range(50):
        log_entry(task, cast.unit, who, site=cast.lane, by=who, day=date.today() - timedelta(days=days))
        if days in (0, 49):
            client.get(f"/{cast.lane.code}/upkeep/")
            with CaptureQueriesContext(connection) as seen:
                client.get(f"/{cast.lane.code}/upkeep/")
            asked.append(len(seen))
    assert asked[0] == asked[1]


def test_one_tap_on_a_stop_rule_takes_the_unit_out_of_service(cast: Cast, signed_in: Any, task: UpkeepTask) -> None:
    client, form = (
        signed_in(cast.assistant),
        {"submission": str(uuid4()), "equipment": str(cast.unit.pk), "rule": "Door", "reason": ""},
    )
    for _ in range(2):
        page = client.post(f"/{cast.lane.code}/upkeep/stop/", form, follow=True).content.decode()
    assert OutOfService.objects.get().reason == "Door"
    assert "out of service</span>. Call now" in page and "Why was it stopped?" not in page


def test_two_taps_stop_a_unit_milling_units_first_and_then_say_whom_to_call(cast: Cast, signed_in: Any) -> None:
    client, stop = signed_in(cast.assistant), f"/{cast.lane.code}/upkeep/stop/"
    fact = SiteFact.objects.create(name="service phone", of="milling unit", ask="?", question=11)
    number = SiteFactValue(
        site=cast.lane,
        happened_on=clock.today("UTC"),
        site_fact=fact,
        equipment=cast.unit,
        value="the line, 020 7946 0114",
    )
    record(number, by=cast.owner.person)
    first = client.get(stop).content.decode()
    buttons = re.findall(r'name="equipment" value="([^"]+)">Stop ', first)
    kinds = [Equipment.objects.get(pk=key).kind for key in buttons]
    assert kinds == sorted(kinds, key=lambda kind: (kind != "milling unit", kind)) and buttons[0] == str(cast.unit.pk)
    form = {"submission": str(uuid4()), "rule": AT_ONCE, "equipment": buttons[0]}  # what the button sends
    page = client.post(stop, form, follow=True).content.decode()
    assert 'Call the line, <a href="tel:02079460114">020 7946 0114</a>.' in page
    assert "Why was it stopped?" in page and OutOfService.objects.get().reason == AT_ONCE
    page = client.post(stop, form | {"submission": str(uuid4()), "rule": "Door"}, follow=True).content.decode()
    assert "Why was it stopped?" not in page and OutOfService.objects.count() == 2


def test_the_stop_page_has_the_facts_of_the_unit_that_is_chosen_and_its_number_as_a_link(
    cast: Cast, signed_in: Any
) -> None:
    """Before anything is sent: a unit with a number of its own is never shown another unit's."""
    second = Equipment.objects.create(site=cast.lane, kind="milling unit", label="unit 2", in_service_from=cast.unit.in_service_from)  # fmt: skip
    fact = SiteFact.objects.create(name="service phone", of="milling unit", ask="?", question=11)
    for unit, number in ((cast.unit, "020 7946 0114"), (second, "020 7946 0199")):
        row = SiteFactValue(
            site=cast.lane, happened_on=clock.today("UTC"), site_fact=fact, equipment=unit, value=number
        )
        record(row, by=cast.owner.person)
    page = signed_in(cast.assistant).get(f"/{cast.lane.code}/upkeep/stop/?unit={second.pk}").content.decode()
    assert 'Call <a href="tel:02079460199">020 7946 0199</a> and tell the supervisor.' in page
    assert "0114" not in page


def test_a_unit_without_a_service_number_says_so(cast: Cast, signed_in: Any) -> None:
    page = signed_in(cast.assistant).get(f"/{cast.lane.code}/upkeep/equipment/{cast.unit.pk}/stopped/").content.decode()
    assert "is in service." in page and "No service number is entered for this unit" in page


def test_a_stop_needs_a_reason_and_a_unit_of_the_site(cast: Cast, signed_in: Any) -> None:
    client, stop = signed_in(cast.assistant), f"/{cast.lane.code}/upkeep/stop/"
    form = {"submission": str(uuid4()), "rule": "", "reason": ""}
    assert "Say why, in a word or two." in client.post(stop, form | {"equipment": str(cast.unit.pk)}).content.decode()
    assert (
        "Choose a unit of this site."
        in client.post(stop, form | {"equipment": str(cast.other_unit.pk)}).content.decode()
    )
    assert not OutOfService.objects.exists()


def test_only_somebody_usable_returns_a_unit(
    cast: Cast, signed_in: Any, task: UpkeepTask, held: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    roles = Roles(returns={"milling unit": "P06"})
    stand_in.answers(monkeypatch, roles_of=lambda organisation: roles)
    form = {"submission": str(uuid4()), "equipment": str(cast.unit.pk), "rule": "Door", "reason": ""}
    signed_in(cast.assistant).post(f"/{cast.lane.code}/upkeep/stop/", form)
    back, done = (
        f"/{cast.lane.code}/upkeep/equipment/{cast.unit.pk}/return/",
        {"submission": str(uuid4()), "check_done": "Door locks."},
    )
    refused = signed_in(cast.assistant).post(back, done).content.decode()
    assert "Only somebody who may do P06 alone returns this unit." in refused
    assert "Ask Ines Pellow." in refused
    assert "is back in service" in signed_in(cast.supervisor).post(back, done, follow=True).content.decode()


def test_a_unit_that_no_procedure_returns_is_returned_by_nobody(cast: Cast) -> None:
    """A library that says nothing of it opens no door: the kinds that have to be returned are the register's own."""
    stop_unit(cast.unit, "It hums.", site=cast.lane, by=cast.owner.person)
    with pytest.raises(Refused, match="Only somebody who may do the procedure that returns a milling unit alone"):
        return_unit(cast.unit, "It is quiet.", site=cast.lane, by=cast.owner.person)


def test_every_entry_is_sealed(cast: Cast, signed_in: Any, task: UpkeepTask, held: Any) -> None:
    send(signed_in(cast.supervisor), cast)
    assert Seal.objects.filter(fact=UpkeepEntry.objects.get().pk).count() == 1
