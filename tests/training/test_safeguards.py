"""Backups and restore drills are noted by whoever keeps the roster, and Audit shows the last of each."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest

from clinic.models import Safeguard
from clinic.record import void
from tests.cast import REGISTER_START, Cast
from tests.training.people_scene import TODAY, noon
from training.reads.findings.stored import findings
from training.reads.safeguards import last_safeguards

PAGE = "/millbrook-lane/audit/safeguards/"


@pytest.fixture(autouse=True)
def today(cast: Cast) -> Any:
    with noon():
        yield


def sent(cast: Cast, **changed: str) -> dict[str, str]:
    given = {"kind": "backup", "on": "3 Mar 2025", "good": "yes", "said": "the disk in the safe"}
    return given | {"done_by": str(cast.owner.person.pk), "submission": str(uuid4())} | changed


def codes(cast: Cast) -> set[str]:
    return {one.finding.code for one in findings(cast.lane, TODAY)}


def test_a_backup_ends_the_finding_that_it_is_late(cast: Cast, signed_in: Any) -> None:
    assert "backup late" in codes(cast)
    signed_in(cast.coordinator).post(PAGE, sent(cast))
    assert "backup late" not in codes(cast)


def test_a_failed_drill_is_a_finding_until_a_good_one(cast: Cast, signed_in: Any) -> None:
    client = signed_in(cast.coordinator)
    client.post(PAGE, sent(cast, kind="restore drill", good="no", said="two seals broken"))
    assert "restore drill failed" in codes(cast)
    client.post(PAGE, sent(cast, kind="restore drill"))
    assert "restore drill failed" not in codes(cast)


def test_one_that_was_taken_back_does_not_count(cast: Cast, signed_in: Any) -> None:
    signed_in(cast.coordinator).post(PAGE, sent(cast))
    void(Safeguard.objects.get(), by=cast.coordinator.person, reason="The disk was empty.")
    assert last_safeguards(cast.lane, TODAY) == {}


def test_audit_shows_the_last_of_each(cast: Cast, signed_in: Any) -> None:
    signed_in(cast.coordinator).post(PAGE, sent(cast))
    shown = signed_in(cast.owner).get("/millbrook-lane/audit/").content.decode()
    assert "3 March 2025, good: the disk in the safe (Hester Vane)" in " ".join(shown.split())
    assert "Never recorded." in shown


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("on", "4 Mar 2025", "That day is still to come."),
        ("on", f"{REGISTER_START - timedelta(days=1):%-d %b %Y}", "The register did not exist yet on that day."),
        ("on", "03/03", "with the month’s name"),
        ("said", " ", "Say where the copy is"),
        ("kind", "snapshot", "Choose one of the two."),
        ("good", "", "Say how it went."),
        ("done_by", "", "Choose who did it."),
    ],
)
def test_what_is_wrong_is_named_and_nothing_typed_is_lost(
    cast: Cast, signed_in: Any, field: str, value: str, says: str
) -> None:
    said = {"said": "the disk in the safe"} | {field: value}
    shown = signed_in(cast.coordinator).post(PAGE, sent(cast, **said)).content.decode()
    assert says in shown and not Safeguard.objects.exists()
    assert field == "said" or "the disk in the safe" in shown


def test_the_same_note_twice_is_one(cast: Cast, signed_in: Any) -> None:
    note = sent(cast)
    for _ in range(2):
        signed_in(cast.coordinator).post(PAGE, note)
    assert Safeguard.objects.count() == 1


def test_an_assistant_notes_none(cast: Cast, signed_in: Any) -> None:
    assert signed_in(cast.assistant).get(PAGE).status_code == 403
