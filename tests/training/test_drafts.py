"""Drafts: nothing typed is lost, a step keeps its identity, everything in the way is said at once, approved is approved."""

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import DatabaseError, transaction
from django.test import Client
from django.urls import reverse

from clinic import clock
from clinic.record import Refused
from tests.cast import Cast
from tests.training.bench import proof
from tests.training.teaching import proved, put_in_force
from training.actions.versions import approve, start_draft, submit, submit_drafted
from training.models import Draft, Procedure, Signature, Version

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def the_drafted(the_cast: Cast, django_db_blocker: Any) -> Cast:
    """P03 in force, and a draft of its second version."""
    with django_db_blocker.unblock():
        put_in_force(the_cast, "P01", "P02", "P03")
        start_draft(Procedure.objects.get(code="P03"), by=the_cast.coordinator.person)
    return the_cast


@pytest.fixture
def drafted(the_drafted: Cast, cast: Cast) -> Cast:
    return cast


def draft() -> Draft:
    return Draft.objects.select_related("procedure").get(procedure__code="P03")


def where(cast: Cast, name: str = "draft", code: str = "P03") -> str:
    return reverse(f"training:{name}", args=[cast.lane.code, code])


def typed(steps: list[dict[str, Any]], act: str = "save", **more: Any) -> dict[str, Any]:
    """What the page of steps sends."""
    data = {
        "steps-TOTAL_FORMS": len(steps),
        "steps-INITIAL_FORMS": len(steps),
        "act": act,
        "seen": draft().updated_at.isoformat(),
    }
    for i, step in enumerate(steps):
        data |= {f"steps-{i}-{name}": step[name] for name in ("key", "do", "when", "caution")}
        data |= {f"steps-{i}-critical": "on"} if step["critical"] else {}
    return data | more


def keys() -> list[str]:
    return [step["key"] for step in draft().content["steps"]]


def test_a_draft_begins_with_the_words_in_force_and_there_is_one(drafted: Cast, signed_in: Any) -> None:
    signed_in(drafted.coordinator).post(where(drafted), {"act": "start"})
    assert Draft.objects.filter(procedure__code="P03").count() == 1
    assert draft().content == Version.objects.get(procedure__code="P03").content


@pytest.mark.parametrize(
    ("act", "expected"),
    [
        ("up:s02", ["s02", "s01", "s05"]),
        ("down:s01", ["s02", "s01", "s05"]),
        ("remove:s02", ["s01", "s05", "s16"]),
        ("up:s01", ["s01", "s02", "s05"]),
    ],
)
def test_buttons_move_and_remove_and_a_step_keeps_its_key(
    drafted: Cast, signed_in: Any, act: str, expected: list[str]
) -> None:
    answer = signed_in(drafted.coordinator).post(where(drafted, "draft_steps"), typed(draft().content["steps"], act))
    assert answer.status_code == 302 and keys()[:3] == expected


def test_a_button_saves_what_was_typed(drafted: Cast, signed_in: Any) -> None:
    steps = [dict(step) for step in draft().content["steps"]]
    steps[4]["do"] = "Put on cut-resistant gloves, both hands."
    signed_in(drafted.coordinator).post(where(drafted, "draft_steps"), typed(steps, "up:s02"))
    assert draft().content["steps"][4]["do"] == "Put on cut-resistant gloves, both hands."


def test_a_new_step_never_takes_the_key_of_one_that_was_there(drafted: Cast, signed_in: Any) -> None:
    client = signed_in(drafted.coordinator)
    client.post(where(drafted, "draft_steps"), typed(draft().content["steps"], "remove:s27"))
    client.post(where(drafted, "draft_steps"), typed(draft().content["steps"], "add:s01"))
    assert "s27" not in keys() and keys()[:2] == ["s01", "s28"]


def test_somebody_elses_saving_is_not_written_over(drafted: Cast, signed_in: Any) -> None:
    steps = [dict(step) for step in draft().content["steps"]]
    steps[0]["do"] = "My words."
    data = typed(steps, seen="2020-01-01T00:00:00+00:00")
    shown = signed_in(drafted.coordinator).post(where(drafted, "draft_steps"), data).content.decode()
    assert "changed by somebody else" in shown and "My words." in shown
    assert draft().content["steps"][0]["do"] != "My words."


def words(**more: str) -> dict[str, str]:
    content = draft().content
    named = {name: "\n".join(content[name]) for name in ("hazards", "protective_equipment")}
    plain = {name: content[name] for name in ("purpose", "note", "evidence")}
    return {**named, **plain, "change_note": "Clearer words.", "seen": draft().updated_at.isoformat(), **more}


def test_the_words_around_the_steps_are_saved_a_line_each(drafted: Cast, signed_in: Any) -> None:
    signed_in(drafted.coordinator).post(where(drafted, "draft_words"), words(hazards="Cuts\n\n Points "))
    assert (draft().content["hazards"], draft().change_note) == (["Cuts", "Points"], "Clearer words.")


def policy(**more: Any) -> dict[str, Any]:
    asked = {
        name: value
        for name, value in draft().policy.items()
        if name not in ("by_method", "check_asked") and value is not None
    }
    return (
        asked
        | {"check_asked": "on", "quota_1_count": 2, "quota_1_methods": ["real"], "seen": draft().updated_at.isoformat()}
        | more
    )


def test_the_policy_comes_back_as_it_was(drafted: Cast, signed_in: Any) -> None:
    before = draft().policy
    assert signed_in(drafted.coordinator).post(where(drafted, "draft_policy"), policy()).status_code == 302
    assert draft().policy == before


def test_a_number_that_is_none_keeps_everything_typed(drafted: Cast, signed_in: Any) -> None:
    shown = signed_in(drafted.coordinator).post(
        where(drafted, "draft_policy"), policy(needed="many", window_days="401")
    )
    page = shown.content.decode()
    assert "Write a whole number." in page and 'value="many"' in page and 'value="401"' in page


def test_what_changed_is_told_step_by_step_and_the_policy_in_words(drafted: Cast, signed_in: Any) -> None:
    client = signed_in(drafted.coordinator)
    steps = [dict(step) for step in draft().content["steps"]]
    steps[2]["do"], steps[4]["critical"] = steps[2]["do"].replace("the door.", "the door slowly."), True
    client.post(where(drafted, "draft_steps"), typed(steps, "remove:s24"))
    client.post(where(drafted, "draft_policy"), policy(needed=4))
    shown = " ".join(client.get(where(drafted)).content.decode().split())
    assert "<del>door.</del> <ins>door slowly.</ins>" in shown and "Now critical." in shown
    assert "Removed: step 12 of before" in shown
    assert "<del>five met, by real work or practice piece</del> <ins>four met" in shown


def test_everything_in_the_way_is_said_at_once(drafted: Cast, signed_in: Any) -> None:
    client, steps = signed_in(drafted.coordinator), [dict(step) for step in draft().content["steps"]]
    steps[0]["do"], steps[1]["do"] = "", "Never look at {no such fact}."
    client.post(where(drafted, "draft_steps"), typed(steps))
    shown = client.post(where(drafted), {"act": "submit"}, follow=True).content.decode()
    for words_said in (
        "Step s01 says nothing",
        "starts with “Never”",
        "Site fact {no such fact} is not defined",
        "What changed is not said",
    ):
        assert words_said in shown
    assert draft().state == Draft.State.WRITING


def submitted(cast: Cast, **changes: Any) -> Draft:
    row = draft()
    row.content, row.change_note = row.content | {"purpose": "Swap it well."}, "New purpose."
    row.save()
    return submit(row, by=cast.coordinator.person)


def approving(client: Client, cast: Cast, day: date, submission: str = "", **more: str) -> Any:
    sent = {"from_day": f"{day:%d %b %Y}", "submission": submission or str(uuid4())}
    return client.post(where(cast, "draft_approve"), sent | proof(cast.owner) | more)


def test_a_submitted_draft_is_approved_from_a_day_and_once(drafted: Cast, signed_in: Any) -> None:
    submitted(drafted)
    client, day, submission = signed_in(drafted.owner), clock.today("Europe/London") + timedelta(days=7), str(uuid4())
    assert [approving(client, drafted, day, submission).status_code for _ in range(2)] == [302, 302]
    second = Version.objects.get(procedure__code="P03", number=2)
    assert (second.in_force_from, second.recorded_by, second.text.purpose) == (
        day,
        drafted.owner.person,
        "Swap it well.",
    )
    assert not Draft.objects.filter(procedure__code="P03").exists()


def test_an_approval_that_waits_stands_on_the_owners_today_and_on_nobody_elses(drafted: Cast, signed_in: Any) -> None:
    submitted(drafted)
    said, link = "Approve a version: ", where(drafted, "draft_approve")
    owners, others = (
        signed_in(one).get(f"/{drafted.lane.code}/today/").content.decode()
        for one in (drafted.owner, drafted.coordinator)
    )
    assert said in owners and f'href="{link}"' in owners
    assert said not in others
    approving(signed_in(drafted.owner), drafted, clock.today("Europe/London") + timedelta(days=7))
    assert said not in signed_in(drafted.owner).get(f"/{drafted.lane.code}/today/").content.decode()


def test_an_approval_is_signed_by_whoever_proved_who_they_are(drafted: Cast, signed_in: Any) -> None:
    submitted(drafted)
    day = clock.today("Europe/London") + timedelta(days=7)
    refused = approving(signed_in(drafted.owner), drafted, day, password="not this one at all")
    assert refused.status_code == 200 and not Version.objects.filter(number=2).exists()
    approving(signed_in(drafted.owner), drafted, day)
    said = Signature.objects.get(signs=Version.objects.get(number=2).pk)
    assert (said.signer_name, said.reidentified) == ("Hester Vane", "sign-in name and password")


def approving_the_set(client: Client, cast: Cast, codes: list[str], **more: str) -> Any:
    sent = {"from_day": f"{clock.today('Europe/London'):%d %b %Y}", "submission": str(uuid4()), "procedures": codes}
    return client.post(reverse("training:approve_drafts", args=["millbrook-lane"]), sent | proof(cast.owner) | more)


def waiting(cast: Cast) -> list[str]:
    rows = Draft.objects.order_by("procedure__code").values_list("procedure__code", flat=True)
    submit_drafted(list(rows), cast.organisation, by=cast.coordinator.person)
    return [code for code in rows if not Version.objects.filter(procedure__code=code).exists()]


def test_the_set_is_approved_at_once_with_a_signature_for_each(drafted: Cast, signed_in: Any) -> None:
    Draft.objects.filter(procedure__code="P03").delete()
    codes, before = waiting(drafted), Version.objects.count()
    client, submission = signed_in(drafted.owner), str(uuid4())
    answers = [approving_the_set(client, drafted, codes, submission=submission) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [302, 302]
    made = Version.objects.filter(procedure__code__in=codes)
    assert made.count() == len(codes) > 20 and Version.objects.count() == before + len(codes)
    assert Signature.objects.filter(signs__in=made.values("pk"), signer_name="Hester Vane").count() == len(codes)


def test_what_was_not_chosen_of_the_set_stays_a_draft(drafted: Cast, signed_in: Any) -> None:
    Draft.objects.filter(procedure__code="P03").delete()
    chosen, *left = waiting(drafted)
    approving_the_set(signed_in(drafted.owner), drafted, [chosen])
    assert Version.objects.filter(procedure__code=chosen).count() == 1
    assert Draft.objects.filter(procedure__code__in=left).count() == len(left)


@pytest.mark.parametrize("wrong", [{"password": ""}, {"password": "not this one at all"}])
def test_without_a_proof_nothing_of_the_set_is_in_force(drafted: Cast, signed_in: Any, wrong: dict[str, str]) -> None:
    Draft.objects.filter(procedure__code="P03").delete()
    codes, before = waiting(drafted), Version.objects.count()
    assert approving_the_set(signed_in(drafted.owner), drafted, codes, **wrong).status_code == 200
    assert Version.objects.count() == before


def test_somebody_who_may_not_approve_does_not_reach_the_set(drafted: Cast, signed_in: Any) -> None:
    assert approving_the_set(signed_in(drafted.assistant), drafted, ["P01"]).status_code in (403, 404)


def test_nothing_is_in_force_before_its_approval(drafted: Cast, signed_in: Any) -> None:
    submitted(drafted)
    shown = approving(
        signed_in(drafted.owner), drafted, clock.today("Europe/London") - timedelta(days=1)
    ).content.decode()
    assert "in force from its approval on, not before" in shown and Version.objects.filter(number=2).count() == 0


def test_a_draft_that_is_not_submitted_is_not_approved(drafted: Cast) -> None:
    with pytest.raises(Refused) as refused:
        approve(draft(), clock.today("Europe/London"), site=drafted.lane, by=drafted.owner.person, proved=proved())
    said = {refusal.says for refusal in refused.value.refusals}
    assert {"The draft is not submitted.", "What changed is not said."} <= said


def test_saving_takes_a_submitted_draft_back_to_writing(drafted: Cast, signed_in: Any) -> None:
    submitted(drafted)
    signed_in(drafted.coordinator).post(where(drafted, "draft_words"), words())
    assert draft().state == Draft.State.WRITING


@pytest.mark.parametrize("verb", ["update", "delete"])
def test_the_database_itself_refuses_to_change_an_approved_version(drafted: Cast, verb: str) -> None:
    """E-11, 21 CFR 11.10(k), M: control of documents. A sign-off names its version, and no version changes."""
    rows = Version.objects.filter(procedure__code="P03")
    with pytest.raises(DatabaseError, match="never changed or deleted"), transaction.atomic():
        rows.update(change_note="Other words.") if verb == "update" else rows._raw_delete(rows.db)


@pytest.mark.parametrize(
    "name", ["draft", "draft_words", "draft_steps", "draft_questions", "draft_policy", "draft_preview"]
)
def test_a_coordinator_writes_drafts_and_an_assistant_does_not(drafted: Cast, signed_in: Any, name: str) -> None:
    asked = {
        who: signed_in(getattr(drafted, who)).get(where(drafted, name)).status_code
        for who in ("coordinator", "assistant", "elsewhere")
    }
    assert asked == {"coordinator": 200, "assistant": 403, "elsewhere": 404}


def test_only_whoever_approves_opens_the_approval(drafted: Cast, signed_in: Any) -> None:
    asked = {
        who: signed_in(getattr(drafted, who)).get(where(drafted, "draft_approve")).status_code
        for who in ("owner", "coordinator")
    }
    assert asked == {"owner": 200, "coordinator": 403}


def test_the_preview_says_that_it_is_a_draft_and_shows_the_right_options(drafted: Cast, signed_in: Any) -> None:
    shown = signed_in(drafted.owner).get(where(drafted, "draft_preview")).content.decode()
    assert "A draft: not approved, not in force." in shown and "(right)" in shown


def test_questions_are_saved_with_their_options_and_the_right_one(drafted: Cast, signed_in: Any) -> None:
    data: dict[str, Any] = {
        "questions-TOTAL_FORMS": 1,
        "questions-INITIAL_FORMS": 1,
        "act": "save",
        "seen": draft().updated_at.isoformat(),
    }
    fields = {"key": "q1", "ask": "Which?", "weight": "safety", "options": "A\nB\nC\nD", "right": "2", "why": "It is."}
    data |= {f"questions-0-{name}": value for name, value in fields.items()}
    signed_in(drafted.coordinator).post(where(drafted, "draft_questions"), data)
    question = draft().content["questions"][0]
    assert (question["options"], question["right_index"], question["sources"]) == (
        ["A", "B", "C", "D"],
        2,
        ["Z-09", "Z-18"],
    )


def test_a_draft_is_thrown_away_and_a_first_text_is_not(drafted: Cast, signed_in: Any) -> None:
    client = signed_in(drafted.coordinator)
    client.post(where(drafted), {"act": "discard"})
    shown = client.post(where(drafted, code="P05"), {"act": "discard"}, follow=True).content.decode()
    assert "It is the first text of the procedure." in shown
    assert set(Draft.objects.filter(procedure__code__in=["P03", "P05"]).values_list("procedure__code", flat=True)) == {
        "P05"
    }


def test_steps_out_of_the_safe_order_warn_and_forbid_nothing(drafted: Cast, signed_in: Any) -> None:
    """Said on the page of steps, of the draft and of the approval, by law and step; and it is approved all the same."""
    client, content = signed_in(drafted.coordinator), draft().content
    assert "Out of the order that is safe" not in client.get(where(drafted)).content.decode()
    steps = [
        {"key": "s90", "do": "Reach in and take the block.", "when": "", "caution": "", "critical": True},
        *content["steps"],
    ]
    client.post(where(drafted, "draft_steps"), typed(steps))
    Draft.objects.filter(pk=draft().pk).update(change_note="A step more.")
    said = "<b>Before a hand goes in.</b> Step 1 sends a hand in before it is still, parked, barred and open"
    for name in ("draft", "draft_steps"):
        assert said in client.get(where(drafted, name)).content.decode()
    submit(draft(), by=drafted.coordinator.person)
    assert said in signed_in(drafted.owner).get(where(drafted, "draft_approve")).content.decode()
    whole = signed_in(drafted.owner).get(reverse("training:approve_drafts", args=[drafted.lane.code])).content.decode()
    assert "P03, Before a hand goes in." in whole
    made = approve(draft(), clock.today("Europe/London"), site=drafted.lane, by=drafted.owner.person, proved=proved())
    assert made.number == 2
