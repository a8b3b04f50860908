"""A practice set up in tables: instructions checks, signers and carried-over records."""

from datetime import date
from typing import Any

import pytest
from django.contrib.messages import get_messages

from clinic.models import Person
from clinic.seals import check_site
from clinic.tables import Table, TablePlace
from tests.cast import REGISTER_START
from tests.tables import filled_in, uploaded, words
from tests.training.bench import proof
from tests.training.people_scene import TODAY, Scene, carried
from training.carried_table import CarriedTable
from training.instructions_table import InstructionsTable
from training.models import Authority, CarriedOver, FoundingGrant, InstructionsCheck, Signature, StandingSpan
from training.signer_table import SignerTable

pytestmark = pytest.mark.django_db
URL = "/millbrook-lane/people/roster/going-live/"
PAPER = {"all-original_day": "1 Oct 2024", "all-by_whom": "the paper list", "all-paper_place": "blue folder"}
WREN, TOBIAS = "Wren Adeyemi", "Tobias Rask"


def of(scene: Scene, make: type[Table], who: str = "owner") -> Any:
    return make(TablePlace(scene.cast.lane, TODAY, getattr(scene.cast, who).person))


def send(signed_in: Any, scene: Scene, tail: str, data: dict[str, str], who: str = "owner") -> Any:
    return signed_in(getattr(scene.cast, who)).post(URL + tail, data)


# ---------- carried over ----------
def carry(scene: Scene, lines: dict[str, dict[str, Any]], who: str = "coordinator", **more: str) -> dict[str, str]:
    return filled_in(of(scene, CarriedTable, who), lines, **(PAPER | more))


def test_all_of_a_person_is_carried_over_by_one_box_and_spread(signed_in: Any, scene: Scene) -> None:
    data = carry(scene, {WREN: {"procedure": ["all"]}})
    assert send(signed_in, scene, "carried-over/", data, "coordinator").status_code == 302
    rows = CarriedOver.objects.order_by("procedure__code")
    assert [row.procedure.code for row in rows] == ["P01", "P03", "P04"]
    assert [(row.valid_until - REGISTER_START).days for row in rows] == [
        60,
        120,
        180,
    ]  # evenly, in the order of the table
    assert check_site(scene.cast.lane) == []


def test_what_will_be_on_hold_at_once_is_said_before_it_is_recorded(signed_in: Any, scene: Scene) -> None:
    data = carry(scene, {WREN: {"procedure": ["P04"]}})
    html = words(send(signed_in, scene, "carried-over/", data, "coordinator"))
    assert "Wren Adeyemi will be on hold at once in P04: P01 comes first." in html
    assert not CarriedOver.objects.exists() and not StandingSpan.objects.filter(procedure__code="P04").exists()
    assert send(signed_in, scene, "carried-over/", data | {"seen": "on"}, "coordinator").status_code == 302
    assert StandingSpan.objects.on(TODAY).get(procedure__code="P04").state == "on hold"


def test_nobody_carries_over_their_own_and_nothing_typed_is_lost(signed_in: Any, scene: Scene) -> None:
    table = of(scene, CarriedTable, "owner")  # as another would see it: with the coordinator's line
    data = filled_in(table, {"Bram Okafor": {"procedure": ["P01"]}, WREN: {"procedure": ["P01"]}}, **PAPER)
    html = words(send(signed_in, scene, "carried-over/", data, "coordinator"))
    assert "It is about you. Nobody decides about their own record" in html
    assert 'value="the paper list"' in html
    assert not CarriedOver.objects.exists()


def test_every_reason_against_a_line_stands_at_its_cells(signed_in: Any, scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", date(2025, 6, 1))
    line = {"procedure": ["P01"], "original_day": "6 Jan 2025", "valid_until": "1 Jan 2026"}
    html = words(send(signed_in, scene, "carried-over/", carry(scene, {WREN: line}), "coordinator"))
    for says in (
        "P01: This is carried over already.",
        "P01: 6 Jan 2025 is not before the register started.",
        "Carried-over records end by 5 Jul 2025.",
    ):
        assert says in html


def test_a_file_of_carried_over_records_that_the_register_wrote_says_nothing_new(signed_in: Any, scene: Scene) -> None:
    Person.objects.filter(pk=scene.cast.assistant.person.pk).update(staff_number="S20")
    carried(scene, scene.cast.assistant.person, "P01", date(2025, 6, 1))
    client = signed_in(scene.cast.coordinator)
    file = client.get("/millbrook-lane/people/roster/carried-over/export/").content
    html = words(client.post(f"{URL}carried-over/", uploaded(file, "carried.csv")))
    assert "0 lines would be recorded. 1 line says what is here already. Nothing is saved yet." in html


# ---------- instructions ----------
def test_one_check_holds_many_procedures_against_one_manual_each_signed(signed_in: Any, scene: Scene) -> None:
    line = {"procedure": ["all"], "title": "Milling unit", "edition": "3rd, 2025"}
    data = filled_in(of(scene, InstructionsTable), {"line 1": line}, **proof(scene.cast.owner))
    data["all-day"] = "3 Mar 2025"
    assert send(signed_in, scene, "instructions/", data).status_code == 302
    rows = InstructionsCheck.objects.all()
    assert {(row.version.procedure.code, row.checked_by, row.edition) for row in rows} == {
        (code, scene.cast.owner.person, "3rd, 2025") for code in ("P01", "P03", "P04")
    }
    assert Signature.objects.filter(signs__in=[row.pk for row in rows]).count() == 3
    assert Signature.objects.exclude(reidentified__startswith="sign-in name").count() == 0


def test_without_the_password_nothing_is_recorded_and_the_line_stays(signed_in: Any, scene: Scene) -> None:
    line = {"procedure": ["P01"], "title": "Milling unit", "edition": ""}
    wrong = proof(scene.cast.owner, "not this one at all")
    html = words(
        send(signed_in, scene, "instructions/", filled_in(of(scene, InstructionsTable), {"line 1": line}, **wrong))
    )
    assert "Name and password do not belong together." in html
    assert "Write the edition or the date that is printed on the instructions." in html
    assert 'value="Milling unit"' in html and "not this one" not in html
    assert not InstructionsCheck.objects.exists()


def test_a_trial_asks_for_no_password_and_leaves_no_signature(signed_in: Any, scene: Scene) -> None:
    line = {"procedure": ["P01"], "title": "Milling unit", "edition": "3rd, 2025"}
    before = Signature.objects.count()
    data = filled_in(of(scene, InstructionsTable), {"line 1": line}, check="yes", **{"all-day": "3 Mar 2025"})
    assert "1 line would be recorded. Nothing is saved yet." in words(send(signed_in, scene, "instructions/", data))
    assert (Signature.objects.count(), InstructionsCheck.objects.count()) == (before, 0)


# ---------- signers ----------
def grants(scene: Scene, lines: dict[str, dict[str, Any]], **more: str) -> dict[str, str]:
    return filled_in(of(scene, SignerTable), lines, **(proof(scene.cast.owner) | {"all-from_day": "3 Mar 2025"} | more))


def test_authority_and_founding_grants_are_given_in_one_table(signed_in: Any, scene: Scene) -> None:
    founding = {"procedure": ["all"], "rests_on": "visit", "detail": "Two days in December.", "to_day": "3 Dec 2025"}
    data = grants(scene, {TOBIAS: founding, WREN: {"procedure": ["P01"]}})
    answer = send(signed_in, scene, "signers/", data)
    assert answer.status_code == 302
    assert (FoundingGrant.objects.get().person, FoundingGrant.objects.get().procedures) == (
        scene.cast.second.person,
        ["P01", "P03", "P04"],
    )
    assert Authority.objects.get(person=scene.cast.assistant.person).procedures == ["P01"]
    assert StandingSpan.objects.on(TODAY).usable().filter(person=scene.cast.second.person).count() == 3
    said = [str(each) for each in get_messages(answer.wsgi_request)]
    assert any("Wren Adeyemi may not work alone in P01" in each for each in said)


def test_all_of_it_is_every_area_so_that_later_procedures_are_covered(signed_in: Any, scene: Scene) -> None:
    assert send(signed_in, scene, "signers/", grants(scene, {WREN: {"procedure": ["all"]}})).status_code == 302
    row = Authority.objects.get(person=scene.cast.assistant.person)
    assert (row.procedures, row.areas) == ([], ["milling"])


def test_a_founding_grant_is_refused_at_its_cells(signed_in: Any, scene: Scene) -> None:
    data = grants(scene, {TOBIAS: {"procedure": ["P01"], "rests_on": "visit"}, WREN: {"rests_on": "visit"}})
    html = words(send(signed_in, scene, "signers/", data))
    assert "Tobias Rask, through the day</a></b><p>A founding grant ends. Write its last day.</p>" in html
    assert "Tick what it covers." in html
    assert not FoundingGrant.objects.exists()


@pytest.mark.parametrize(("tail", "who"), [("signers/", "coordinator"), ("carried-over/", "assistant"), ("site-facts/", "assistant")])  # fmt: skip
def test_a_table_opens_for_whoever_may_do_a_single_one(signed_in: Any, scene: Scene, tail: str, who: str) -> None:
    assert signed_in(getattr(scene.cast, who)).get(URL + tail).status_code == 403


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
@pytest.mark.parametrize("tail", ["signers", "instructions", "carried-over"])
def test_each_sample_loads_as_it_is(signed_in: Any, scene: Scene, tail: str, kind: str) -> None:
    client = signed_in(scene.cast.owner)
    sample = client.get(f"{URL}{tail}/?as={kind}&sample=yes").content
    html = words(client.post(f"{URL}{tail}/", uploaded(sample, f"sample.{kind}")))
    assert "would be recorded. Nothing is saved yet." in html and "to put right" not in html, html[:3000]
