"""The pages of facts that the demo practice has none of, read sentence by sentence: what happened, and what else was said."""

import re
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest

from clinic.actions.purging import hold, purge
from clinic.models import (
    AccountRecovery,
    ChemicalGone,
    ChemicalListed,
    Closure,
    CoolantBands,
    Equipment,
    EquipmentKind,
    Fact,
    FactorChange,
    Incident,
    LoadReleased,
    Purged,
    ResultRead,
    SiteSetting,
    SteriliserEvent,
    TaskSetting,
    UnitChanged,
    UpkeepEntry,
)
from clinic.record import record, void
from tests.house.counts import Node
from tests.training.people_scene import TODAY, Scene
from tests.training.test_fact_pages import main_of
from training.models import InspectorPass, Issue, PassUsed, Retirement, TalkedThrough

pytestmark = pytest.mark.django_db


def here(scene: Scene, day: date = TODAY) -> dict[str, Any]:
    return {"site": scene.cast.lane, "happened_on": day}


def unit(scene: Scene, kind: EquipmentKind, label: str) -> Equipment:
    first = scene.cast.lane.register_start
    return Equipment.objects.create(site=scene.cast.lane, kind=kind, label=label, serial=label, in_service_from=first)


def recovery_asked(scene: Scene) -> Fact:
    asked = AccountRecovery(
        person=scene.cast.assistant.person, step="asked", factor_lost=True, way="slip", reason="She stood before me.", **here(scene)
    )  # fmt: skip
    return record(asked, by=scene.cast.owner.person)


def recovery_used(scene: Scene) -> Fact:
    used = AccountRecovery(person=scene.cast.assistant.person, step="used", asking=recovery_asked(scene), **here(scene))
    return record(used, by=None)


def factor_removed(scene: Scene) -> Fact:
    who = {"person": scene.cast.owner.person, "kind": "app", "label": "blue phone"}
    added = record(FactorChange(what="added", fingerprint="ab12", **who, **here(scene)), by=scene.cast.owner.person)
    gone = FactorChange(what="removed", factor=added.pk, reason="It was lost.", **who, **here(scene))
    return record(gone, by=scene.cast.owner.person)


def product_gone(scene: Scene) -> Fact:
    listed = ChemicalListed(
        product="Coolant additive", sheet_revision=date(2024, 5, 6), place="Cupboard", **here(scene)
    )
    listed = record(listed, by=scene.cast.owner.person)
    return record(ChemicalGone(listed=listed, **here(scene)), by=scene.cast.owner.person)


def closed(scene: Scene) -> Fact:
    days = {"first": date(2025, 4, 18), "after": date(2025, 4, 22), "reason": "Easter."}
    return record(Closure(**days, **here(scene)), by=scene.cast.owner.person)


def bands(scene: Scene) -> Fact:
    row = CoolantBands(edition="the guide of 2019", reasonable_from=10_000, poor_from=1_000_000, **here(scene))
    return record(row, by=scene.cast.owner.person)


def held(scene: Scene) -> Fact:
    return hold("A claim of February.", site=scene.cast.lane, by=scene.cast.owner.person)


def purged(scene: Scene) -> Fact:
    event = Incident(
        kind="sharps injury", contaminated="yes", place="Tool bench", how="It slipped.", **here(scene, date(2019, 5, 6))
    )
    record(event, by=None)
    return purge("injuries", 1, site=scene.cast.lane, by=None)


def released(scene: Scene) -> Fact:
    steriliser = unit(scene, EquipmentKind.STERILISER, "steriliser 1")
    row = LoadReleased(equipment=steriliser, load="0412", by_outside=True, **here(scene))
    return record(row, by=scene.cast.supervisor.person)


def sampled(scene: Scene) -> UpkeepEntry:
    row = UpkeepEntry(
        task=scene.cast.task, equipment=scene.cast.unit, done_by=scene.cast.supervisor.person, readings={"tools": True},
        **here(scene, TODAY - timedelta(days=3)),
    )  # fmt: skip
    return record(row, by=scene.cast.supervisor.person)


def read_later(scene: Scene) -> Fact:
    who = scene.cast.supervisor.person
    row = ResultRead(entry=sampled(scene), done_by=who, readings={"grown": 120}, note="Clear.", **here(scene))
    return record(row, by=who)


def setting(scene: Scene) -> Fact:
    row = SiteSetting(name="least cover", about="P03", value=2, source="Agreed in the team.", **here(scene))
    return record(row, by=scene.cast.owner.person)


def repaired(scene: Scene) -> Fact:
    steriliser = unit(scene, EquipmentKind.STERILISER, "steriliser 1")
    row = SteriliserEvent(equipment=steriliser, what="repaired", reason="New door seal.", **here(scene))
    return record(row, by=scene.cast.supervisor.person)


def interval(scene: Scene) -> Fact:
    often = {"every_days": 5, "every_units": 15, "warn_days": 1, "plan_units": 12}
    row = TaskSetting(task=scene.cast.task, source="The unit's manual, page 12", **often, **here(scene))
    return record(row, by=scene.cast.owner.person)


def line_changed(scene: Scene) -> Fact:
    line = unit(scene, EquipmentKind.WATER_LINE, "line 2")
    return record(UnitChanged(equipment=line, what="New tubing", **here(scene)), by=scene.cast.supervisor.person)


def pass_used(scene: Scene) -> Fact:
    issue = Issue(document="binder", number="B1", code="code", frozen={"facts": []}, frozen_digest="x", **here(scene))
    issue = record(issue, by=scene.cast.owner.person)
    given = InspectorPass.objects.create(
        person=scene.cast.inspector.person, issue=issue, until=date(2025, 3, 31), given_by=scene.cast.owner.person
    )
    row = PassUsed(inspector_pass=given, what="binder", opened=issue.pk, **here(scene))
    return record(row, by=scene.cast.inspector.person)


def retired(scene: Scene) -> Fact:
    row = Retirement(procedure=scene.procedures["P04"], reason="The blocks come clamped.", **here(scene))
    return record(row, by=None)


def talked(scene: Scene) -> Fact:
    by, who = scene.cast.supervisor.person, scene.cast.assistant.person
    return record(TalkedThrough(version=scene.versions["P03"], person=who, by=by, **here(scene)), by=by)


def taken_back(scene: Scene) -> Fact:
    return void(sampled(scene), by=scene.cast.supervisor.person, reason="The wrong unit")


RARE: dict[str, tuple[Callable[[Scene], Fact], str, list[str]]] = {
    "clinic.accountrecovery": (
        recovery_asked,
        "It was asked that the account of Wren Adeyemi be opened anew, on 3 March 2025.",
        [
            "The second factor was lost too, and ends with the use of the code.",
            "The code went out on a slip.",
            "How it was checked who asks: She stood before me.",
        ],
    ),
    "clinic.accountrecovery, used": (
        recovery_used,
        "Wren Adeyemi chose a new password with the code, on 3 March 2025.",
        ["It follows what was asked on 3 March 2025."],
    ),
    "clinic.chemicalgone": (
        product_gone,
        "Coolant additive is no longer on the list of chemicals, from 3 March 2025.",
        ["It had been listed with the product on the list of chemicals of 3 March 2025."],
    ),
    "clinic.closure": (
        closed,
        "Millbrook Lane is closed from 18 April 2025 through 21 April 2025.",
        [
            "The clocks of upkeep stand still for 4 days, but for those that only a pass moves.",
            "Entered on 3 March 2025.",
            "Why: Easter.",
        ],
    ),
    "clinic.coolantbands": (
        bands,
        "Coolant is judged by the bands of the guide of 2019, from 3 March 2025.",
        ["Below 10,000 CFU/mL is good; from 1,000,000 CFU/mL on is poor; between them is reasonable."],
    ),
    "clinic.factorchange": (
        factor_removed,
        "A second factor of the account of Hester Vane was removed, on 3 March 2025.",
        [
            "Which: app that shows codes “blue phone”.",
            "It had been added with the change of a second factor of 3 March 2025.",
            "Why: It was lost.",
        ],
    ),
    "clinic.legalhold": (
        held,
        "A legal hold stands at Millbrook Lane from 3 March 2025: nothing is purged.",
        ["What for: A claim of February.", "It stands until it is taken back."],
    ),
    "clinic.loadreleased": (
        released,
        "Load 0412 of steriliser 1 was released for use on 3 March 2025.",
        ["Released from steriliser 1 by its mechanical readings and the outside chemical indicators."],
    ),
    "clinic.purged": (
        purged,
        "The contents of 1 record were taken away after their period, on 3 March 2025.",
        [
            "What they were: injuries.",
            "How long they had to be kept: five years after the end of the calendar year (29 CFR 1904.33(a)).",
            "The last of them had to be there through 31 December 2024.",
            "Their seals stay in the log, and this says what each had sealed.",
        ],
    ),
    "clinic.resultread": (
        read_later,
        "The result of deep clean of 28 February 2025 was read on 3 March 2025.",
        [
            "Read by Ines Pellow; it belongs to the upkeep entry of 28 February 2025 on unit 1.",
            "Note: Clear.",
            "Colonies: 120 CFU/mL",
        ],
    ),
    "clinic.sitesetting": (
        setting,
        "Usable people at work, at least: 2 for P03, from 3 March 2025.",
        ["It holds at Millbrook Lane until it is set anew.", "Source: Agreed in the team."],
    ),
    "clinic.steriliserevent": (
        repaired,
        "Steriliser 1: inspected and repaired, on 3 March 2025.",
        ["It is part of the story of steriliser 1.", "Note: New door seal."],
    ),
    "clinic.tasksetting": (
        interval,
        "Deep clean is due every 5 days or 15 parts here, from 3 March 2025.",
        [
            "It is announced as due 1 day before the last good day.",
            "It is announced as due from 12 parts on.",
            "Source: The unit's manual, page 12.",
        ],
    ),
    "clinic.unitchanged": (
        line_changed,
        "Line 2 was changed on 3 March 2025.",
        ["What: New tubing.", "Two passes in a row prove line 2 again."],
    ),
    "clinic.voiding": (
        taken_back,
        "Upkeep entry of 28 February 2025 was taken back on 3 March 2025.",
        [
            "It had said: Deep clean was done on unit 1 on 28 February 2025.",
            "It stays to be read, and counts for nothing.",
            "Why: The wrong unit.",
        ],
    ),
    "training.passused": (
        pass_used,
        "Maud Lindqvist opened the binder by a pass on 3 March 2025.",
        [
            "What was opened is the issue of a paper of 3 March 2025.",
            "The pass is to binder B1, through 31 March 2025, given by Hester Vane.",
        ],
    ),
    "training.retirement": (
        retired,
        "Clamping a block (P04) is retired from 3 March 2025.",
        [
            "Clamping a block (P04) is no longer taught, and no longer asked where something rests on it.",
            "What was signed lives on to its last day.",
            "Why: The blocks come clamped.",
        ],
    ),
    "training.talkedthrough": (
        talked,
        "Ines Pellow talked the knowledge check of Tool swap (P03) through with Wren Adeyemi on 3 March 2025.",
        [
            "After two failed tries on one day, Ines Pellow did so before Wren Adeyemi tried again.",
            "The check is that of Tool swap (P03), version 1.",
        ],
    ),
}


def said(page: Node) -> tuple[str, list[str]]:
    """Its head, and every sentence and line of what it says, in order; what stands beside it is left out."""
    head = next(node for node in page.walk() if node.tag == "h1").text
    parts = [node for node in page.walk() if node.tag == "section"]
    mine = [node for node in parts if node.attrs.get("aria-labelledby", "") not in ("signed", "seal", "right")]
    return head, [in_a_row(node) for part in mine for node in part.walk() if node.tag in ("p", "li")]


def in_a_row(node: Node) -> str:
    """As it is read: without the space that a parsed link leaves behind it."""
    return re.sub(r" (?=[.,;])", "", node.text)


@pytest.mark.parametrize("kind", RARE)
def test_a_rare_fact_reads_as_sentences(scene: Scene, signed_in: Any, kind: str) -> None:
    make, head, sentences = RARE[kind]
    row = make(scene)
    assert row.fact_kind() == kind.split(",")[0]
    assert said(main_of(signed_in(scene.cast.owner), row)) == (head, [*sentences, *digests(row)])


def digests(row: Fact) -> list[str]:
    return [f"{key}: {digest}" for key, digest in row.contents.items()] if isinstance(row, Purged) else []
