"""Water, filter and purge in one go: an entry each, with its own readings, and all of them or none."""

from datetime import date
from typing import Any
from uuid import uuid4

import pytest

from clinic.actions.people import enter_equipment
from clinic.models import Equipment, FollowUp, UpkeepEntry, UpkeepTask
from tests import stand_in
from tests.cast import REGISTER_START, Cast

pytestmark = pytest.mark.django_db
TODAY = date.today()
TASKS = [
    ("U70", "Water", "coolant tank", "water change", {"key": "dose", "label": "Dose", "kind": "number", "unit": "mL", "low": 0}),
    ("U71", "Filter", "coolant filter", "filter change", {"key": "leak", "label": "It leaks", "kind": "yes/no", "good": ["no"], "what_to_do": "Reseat it.", "follow_up_days": 0}),
    ("U72", "Purge", "milling unit", "purge", {"key": "jets", "label": "Seconds", "kind": "number", "low": 0}),
]  # fmt: skip


@pytest.fixture(autouse=True)
def wet(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    """A unit with tank and filter, their tasks, and the supervisor who may do them alone."""
    for kind in ("coolant tank", "coolant filter"):
        part = Equipment(
            site=cast.lane, kind=kind, label=f"{kind} 1", part_of=cast.unit, in_service_from=REGISTER_START
        )
        enter_equipment(part, by=None)
    for code, title, kind, role, reading in TASKS:
        UpkeepTask.objects.create(
            code=code,
            title=title,
            equipment_kind=kind,
            stands_for=role,
            readings=[reading],
            every_days=7,
            covered_by="P07",
        )
    held = {cast.supervisor.person.pk}
    stand_in.usable(monkeypatch, held)


def send(cast: Cast, client: Any, **changes: str) -> str:
    form = {
        "submission": str(uuid4()), "done_by": str(cast.supervisor.person.pk), "day": f"{TODAY:%d %b %Y}", "at": "08:15", "drawn_at": "08:15",
        "U70_reading_dose": "60", "U71_reading_leak": "no", "U72_reading_jets": "7", "stood_by": "", "note": "",
    } | changes  # fmt: skip
    page = f"/{cast.lane.code}/upkeep/unit/{cast.unit.pk}/together/"
    assert client.get(page).status_code == 200
    return client.post(page, form, follow=True).content.decode()


def entries() -> list[tuple[str, str, dict[str, Any]]]:
    rows = UpkeepEntry.objects.select_related("task", "equipment").order_by("task__code")
    return [(row.task.code, row.equipment.kind, row.readings) for row in rows]


def test_one_form_makes_an_entry_for_each_on_its_own_part(cast: Cast, signed_in: Any) -> None:
    send(cast, signed_in(cast.supervisor))
    assert entries() == [
        ("U70", "coolant tank", {"dose": "60"}), ("U71", "coolant filter", {"leak": "no"}), ("U72", "milling unit", {"jets": "7"}),
    ]  # fmt: skip


def test_what_was_not_done_is_left_out_and_not_asked_for(cast: Cast, signed_in: Any) -> None:
    send(cast, signed_in(cast.supervisor), U71_left="on", U71_reading_leak="")
    assert [code for code, _, _ in entries()] == ["U70", "U72"]


def test_a_reading_that_is_missing_records_none_of_them_and_is_said_at_its_field(cast: Cast, signed_in: Any) -> None:
    page = send(cast, signed_in(cast.supervisor), U72_reading_jets="")
    assert "Nothing is saved yet." in page and 'value="60"' in page
    assert entries() == []


def test_a_reading_out_of_limits_opens_its_follow_up(cast: Cast, signed_in: Any) -> None:
    assert "Reseat it." in send(cast, signed_in(cast.supervisor), U71_reading_leak="yes")
    assert FollowUp.objects.get().entry.task.code == "U71"


def test_whoever_may_not_do_it_alone_says_once_who_stood_by(cast: Cast, signed_in: Any) -> None:
    client, me = signed_in(cast.assistant), str(cast.assistant.person.pk)
    page = send(cast, client, done_by=me)
    assert page.count("Say who stood by: Ines Pellow could.") <= 2  # at the field, and in the head of the form
    assert entries() == []
    send(cast, client, done_by=me, stood_by=str(cast.supervisor.person.pk))
    assert {row.stood_by for row in UpkeepEntry.objects.all()} == {cast.supervisor.person}


def test_nothing_done_is_nothing_to_log(cast: Cast, signed_in: Any) -> None:
    assert "Nothing was done" in send(cast, signed_in(cast.supervisor), U70_left="on", U71_left="on", U72_left="on")
    assert entries() == []


def test_a_dry_unit_says_that_there_is_nothing_to_log_together(cast: Cast, signed_in: Any) -> None:
    UpkeepTask.objects.filter(stands_for__in=["water change", "filter change", "purge"]).update(stands_for="")
    page = signed_in(cast.assistant).get(f"/{cast.lane.code}/upkeep/unit/{cast.unit.pk}/together/").content.decode()
    assert "no tank, no filter and no purge" in page
