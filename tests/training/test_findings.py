"""Findings on the page: from rows to sentences, with their evidence, and what is done about them."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clinic.actions.upkeep import log_entry
from clinic.models import UpkeepTask
from clinic.record import Refused, record, void
from tests.training.people_scene import TODAY, Scene, carried, founded, watched
from training.actions.findings import check_seals, correct
from training.models import CorrectiveAction, CriticalMissAnswer, SignOff
from training.reads.findings.stored import findings


def codes(scene: Scene, day: Any = TODAY) -> list[str]:
    return [one.finding.code for one in findings(scene.cast.lane, day)]


def found(scene: Scene, code: str, day: Any = TODAY) -> Any:
    return next(one for one in findings(scene.cast.lane, day) if one.finding.code == code)


def work(scene: Scene, who: str = "assistant", **more: Any) -> Any:
    task, _ = UpkeepTask.objects.get_or_create(
        code="U90", defaults={"title": "Chamber clean", "equipment_kind": "milling unit", "covered_by": "P01"}
    )
    person = getattr(scene.cast, who).person
    return log_entry(task, scene.cast.unit, person, site=scene.cast.lane, by=person, day=TODAY, **more)


def test_training_overdue_is_found_the_day_after_the_due_day(scene: Scene) -> None:
    assert "training overdue" not in codes(scene, TODAY + timedelta(days=34))
    assert codes(scene, TODAY + timedelta(days=35)).count("training overdue") == 3


def test_work_by_somebody_who_could_not_is_found_with_its_entry(scene: Scene) -> None:
    entry = work(scene)
    assert found(scene, "not held").finding.evidence == (str(entry.pk),)


def test_work_with_somebody_usable_standing_by_is_no_finding(scene: Scene) -> None:
    carried(scene, scene.cast.second.person, "P01", TODAY + timedelta(days=9))
    work(scene, stood_by=scene.cast.second.person)
    assert "not held" not in codes(scene)


def miss(scene: Scene) -> Any:
    carried(scene, scene.cast.assistant.person, "P01", TODAY + timedelta(days=60))
    seen = watched(scene, scene.cast.assistant.person, "P01", TODAY, outcome="not met")
    again = type(seen)(
        **{f.attname: getattr(seen, f.attname) for f in seen._meta.concrete_fields}
        | {"id": uuid4(), "critical_miss": True}
    )
    return record(again, by=scene.cast.supervisor.person)


def test_a_critical_miss_is_found_the_next_day_and_answering_ends_it(scene: Scene) -> None:
    seen, tomorrow = miss(scene), TODAY + timedelta(days=1)
    assert ("critical miss unanswered" in codes(scene), "critical miss unanswered" in codes(scene, tomorrow)) == (
        False,
        True,
    )
    answer = CriticalMissAnswer(
        site=scene.cast.lane, happened_on=TODAY, observation=seen, reason="Showed it right at once."
    )
    record(answer, by=scene.cast.supervisor.person)
    assert "critical miss unanswered" not in codes(scene, tomorrow)


def signature(scene: Scene, signer: str, person: str) -> SignOff:
    who = getattr(scene.cast, signer).person
    return record(
        SignOff(
            site=scene.cast.lane, happened_on=TODAY, person=getattr(scene.cast, person).person, version=scene.versions["P01"],
            signer=who, signer_name=str(who), meaning="May do it.", statement="", evidence=[], reidentified="passphrase",
            reidentified_at="2025-03-03T12:00:00Z",
        ),
        by=None,  # past the policy, which would refuse it: the finding sees it all the same
    )  # fmt: skip


def test_a_signature_without_authority_stops_until_it_is_taken_back(scene: Scene) -> None:
    signed = signature(scene, "second", "assistant")
    assert found(scene, "wrong signature").finding.weight == "stop"
    void(signed, by=scene.cast.supervisor.person, reason="Signed without authority.")
    assert "wrong signature" not in codes(scene)


def test_two_who_signed_each_other_are_a_ring_and_an_anchor_ends_it(scene: Scene) -> None:
    signature(scene, "second", "supervisor")
    signature(scene, "supervisor", "second")
    assert "ring of signers" in codes(scene)
    founded(scene, scene.cast.supervisor.person, "P01")
    assert "ring of signers" not in codes(scene)


def test_seals_never_checked_are_late_and_a_check_ends_it(scene: Scene) -> None:
    assert "seal check late" in codes(scene)
    assert check_seals(scene.cast.lane, by=scene.cast.owner.person) == []
    assert "seal check late" not in codes(scene)


def do(scene: Scene, *keys: str, done: str = "Talked it through.", **more: Any) -> list[CorrectiveAction]:
    owner = scene.cast.owner.person
    return correct(keys, done, owner, site=scene.cast.lane, by=owner, **more)


def test_what_was_done_about_a_note_closes_it(scene: Scene) -> None:
    work(scene)
    do(scene, found(scene, "not held").finding.key)
    assert not found(scene, "not held").is_open


def test_several_notes_are_closed_with_one_reason(scene: Scene) -> None:
    work(scene)
    work(scene, who="second")
    keys = [one.finding.key for one in findings(scene.cast.lane, TODAY) if one.finding.code == "not held"]
    assert len(do(scene, *keys)) == 2


def test_only_notes_are_closed_together(scene: Scene) -> None:
    work(scene)
    with pytest.raises(Refused, match="Only notes are closed together"):
        do(scene, found(scene, "not held").finding.key, found(scene, "seal check late").finding.key)


def test_every_reason_against_an_action_is_named_at_once(scene: Scene) -> None:
    with pytest.raises(Refused) as refused:
        do(scene, "no such finding", done=" ")
    assert [one.field for one in refused.value.refusals] == ["findings", "done"]


def test_the_same_submission_twice_is_one_action(scene: Scene) -> None:
    work(scene)
    key, id = found(scene, "not held").finding.key, uuid4()
    assert do(scene, key, id=id) == do(scene, key, id=id)
    assert CorrectiveAction.objects.count() == 1


def test_more_findings_cost_no_more_queries(scene: Scene) -> None:
    counts, _ = [], findings(scene.cast.lane, TODAY)
    for times in (2, 9):
        for _ in range(times):
            work(scene)
        with CaptureQueriesContext(connection) as seen:
            findings(scene.cast.lane, TODAY)
        counts.append(len(seen))
    assert counts[0] == counts[1]
