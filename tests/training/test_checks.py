"""The knowledge check: the same order on a reload, one try one record, a talk before the third, and the supervisors' own."""

import re
from html import unescape
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from tests.cast import Cast
from tests.training.teaching import give_authority, put_in_force
from training.models import KnowledgeResult, TalkedThrough, Version

pytestmark = pytest.mark.django_db
SUBMISSION = re.compile(r'name="submission" value="([^"]+)"')
OPTION = re.compile(r'type="radio" name="(q\d+)" value="([^"]*)"')


@pytest.fixture(scope="module")
def the_checked(the_cast: Cast, django_db_blocker: Any) -> Cast:
    with django_db_blocker.unblock():
        put_in_force(the_cast, "P01", "P03", "T01")
        give_authority(the_cast, "P01", "P03")
    return the_cast


@pytest.fixture
def checked(the_checked: Cast, cast: Cast) -> Cast:
    return cast


def where(cast: Cast, name: str = "check", **more: Any) -> str:
    return reverse(f"training:{name}", kwargs={"site": cast.lane.code, "code": "P03", **more})


def answers(cast: Cast, wrong: int = 0, kind: str = "safety") -> dict[str, str]:
    """Everything right but so many questions of the kind."""
    found = {}
    for question in Version.objects.get(procedure__code="P03").text.questions:
        miss = wrong > 0 and question.weight == kind
        wrong -= miss
        found[question.key] = question.options[question.right_index - 1] if miss else question.right
    return found


def hand_in(client: Client, cast: Cast, said: dict[str, str], submission: str | None = None) -> Any:
    shown = client.get(where(cast)).content.decode()
    found = SUBMISSION.search(shown)
    return client.post(where(cast), said | {"submission": submission or (found[1] if found else str(uuid4()))})


def test_a_reload_asks_in_the_same_order_and_the_next_try_in_another(checked: Cast, signed_in: Any) -> None:
    client = signed_in(checked.assistant)
    first, again = (OPTION.findall(client.get(where(checked)).content.decode()) for _ in range(2))
    hand_in(client, checked, answers(checked, wrong=1))
    assert first == again and len(first) == 4 * len(Version.objects.get(procedure__code="P03").text.questions)
    assert OPTION.findall(client.get(where(checked)).content.decode()) != first


def test_everything_right_is_passed_and_stands_on_the_own_record(checked: Cast, signed_in: Any) -> None:
    client = signed_in(checked.assistant)
    shown = client.get(hand_in(client, checked, answers(checked)).url).content.decode()
    assert 'Passed</span>: <span data-counts="wrong">all right</span>.' in shown
    assert (KnowledgeResult.objects.get().passed, KnowledgeResult.objects.get().person) == (
        True,
        checked.assistant.person,
    )


@pytest.mark.parametrize(
    ("kind", "wrong", "passes"), [("safety", 1, False), ("knowledge", 1, True), ("knowledge", 2, False)]
)
def test_the_pass_rule_is_that_of_the_version(
    checked: Cast, signed_in: Any, kind: str, wrong: int, passes: bool
) -> None:
    client = signed_in(checked.assistant)
    hand_in(client, checked, answers(checked, wrong, kind))
    assert KnowledgeResult.objects.get().passed is passes


def test_each_wrong_answer_says_why_and_not_what_is_right(checked: Cast, signed_in: Any) -> None:
    client = signed_in(checked.assistant)
    shown = client.get(hand_in(client, checked, answers(checked, wrong=1)).url).content.decode()
    assert "The torque is unknown and the driver is suspect." in shown
    assert "Loosen, check the seat, try another in-date driver once." not in shown


def test_a_question_without_an_answer_keeps_the_others(checked: Cast, signed_in: Any) -> None:
    client, said = signed_in(checked.assistant), answers(checked)
    del said["q2"]
    shown = hand_in(client, checked, said).content.decode()
    assert "Choose one of the four." in shown and shown.count("checked") >= 5
    assert not KnowledgeResult.objects.exists()


def test_the_same_try_sent_twice_is_one(checked: Cast, signed_in: Any) -> None:
    client = signed_in(checked.assistant)
    submission = SUBMISSION.search(client.get(where(checked)).content.decode())[1]  # type: ignore[index]
    first, second = (hand_in(client, checked, answers(checked), submission) for _ in range(2))
    assert first.url == second.url and KnowledgeResult.objects.count() == 1


def fail_twice(client: Client, cast: Cast) -> None:
    for _ in range(2):
        hand_in(client, cast, answers(cast, wrong=1))


def test_after_two_failed_tries_somebody_talks_it_through_first(checked: Cast, signed_in: Any) -> None:
    client, supervisor = signed_in(checked.assistant), signed_in(checked.supervisor)
    fail_twice(client, checked)
    refused = hand_in(client, checked, answers(checked)).content.decode()
    assert "Two tries today were not passed." in refused and KnowledgeResult.objects.count() == 2
    assert (
        "Waiting for a talk"
        in supervisor.get(reverse("training:procedures", args=[checked.lane.code])).content.decode()
    )
    talk = where(checked, "talk_through", person=checked.assistant.person.pk)
    assert "Record the talk" in supervisor.get(talk).content.decode()
    submission = str(uuid4())
    assert [supervisor.post(talk, {"submission": submission}).status_code for _ in range(2)] == [302, 302]
    hand_in(client, checked, answers(checked))
    assert (TalkedThrough.objects.count(), KnowledgeResult.objects.filter(passed=True).count()) == (1, 1)


def test_nobody_talks_it_through_where_nothing_waits(checked: Cast, signed_in: Any) -> None:
    talk = where(checked, "talk_through", person=checked.assistant.person.pk)
    shown = signed_in(checked.supervisor).post(talk, {"submission": str(uuid4())})
    assert shown.status_code == 200 and not TalkedThrough.objects.exists()


def test_an_assistant_cannot_talk_anybody_through(checked: Cast, signed_in: Any) -> None:
    fail_twice(signed_in(checked.assistant), checked)
    talk = where(checked, "talk_through", person=checked.assistant.person.pk)
    assert signed_in(checked.assistant).post(talk, {"submission": str(uuid4())}).status_code == 403


def test_a_result_is_read_by_oneself_and_by_whoever_reads_the_site(checked: Cast, signed_in: Any) -> None:
    address = hand_in(signed_in(checked.assistant), checked, answers(checked)).url
    asked = {
        who: signed_in(getattr(checked, who)).get(address).status_code
        for who in ("assistant", "supervisor", "second", "elsewhere")
    }
    assert asked == {"assistant": 200, "supervisor": 200, "second": 404, "elsewhere": 404}


def test_the_supervisors_questions_record_nothing(checked: Cast, signed_in: Any) -> None:
    client, address = signed_in(checked.supervisor), reverse("training:supervisor_check", args=[checked.lane.code])
    shown = client.get(address).content.decode()
    said = dict(OPTION.findall(unescape(shown))) | {"submission": SUBMISSION.search(shown)[1]}  # type: ignore[index]
    answered = client.post(address, said).content.decode()
    assert "How it went" in answered and "29 CFR 1910.1200(h)(1)" in answered
    assert not KnowledgeResult.objects.exists()


def test_the_supervisors_questions_are_not_asked_of_an_assistant(checked: Cast, signed_in: Any) -> None:
    address = reverse("training:supervisor_check", args=[checked.lane.code])
    assert signed_in(checked.assistant).get(address).status_code == 403


def test_a_topic_without_questions_asks_nothing(checked: Cast, signed_in: Any) -> None:
    address = reverse("training:check", args=[checked.lane.code, "T01"])
    assert "This version has no questions" in signed_in(checked.assistant).get(address).content.decode()
