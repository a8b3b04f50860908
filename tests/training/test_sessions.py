"""Taught sessions: recorded as they were, counting only when complete, put right by a later record."""

from datetime import date
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clinic.actions.people import end_role, give_role, job_role
from clinic.models import RoleHeld
from tests.cast import REGISTER_START, Cast
from tests.training.bench import proof
from tests.training.teaching import give_authority, put_in_force
from training.models import Signature, StandingSpan, TaughtSession, Version
from training.reads.binder.asked import BinderAsked
from training.reads.binder.records import sessions

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def the_taught(the_cast: Cast, django_db_blocker: Any) -> Cast:
    with django_db_blocker.unblock():
        put_in_force(the_cast, "T01", "T04")
        give_authority(the_cast, "T01", "T04")
    return the_cast


@pytest.fixture
def taught(the_taught: Cast, cast: Cast) -> Cast:
    return cast


def said(cast: Cast, *codes: str, **more: Any) -> dict[str, Any]:
    """A session of 10 March 2026, complete."""
    topics = Version.objects.filter(procedure__code__in=codes or ("T01",))
    return {
        "topics": [row.pk for row in topics], "days": "9 Mar 2026, 10 Mar 2026", "attendees": [cast.assistant.person.pk],
        "summary": "All fourteen elements.", "trainer": cast.supervisor.person.pk, "trainer_name": "",
        "trainer_qualification": "Trained 2023.", "live_questions": "yes", "demonstrated": "", "language": "English",
        "handed_out": "nothing", "submission": str(uuid4()), **more,
    }  # fmt: skip


def record(client: Client, cast: Cast, data: dict[str, Any]) -> Any:
    return client.post(reverse("training:session_new", args=[cast.lane.code]), data)


def standing(cast: Cast, code: str, day: date) -> str:
    row = StandingSpan.objects.on(day).filter(person=cast.assistant.person, procedure__code=code).first()
    return row.state if row else "untrained"


def test_a_complete_session_counts_for_everyone_who_attended(taught: Cast, signed_in: Any) -> None:
    answer = record(signed_in(taught.supervisor), taught, said(taught))
    row = TaughtSession.objects.get()
    assert answer.url.endswith(f"/{row.pk}/") and row.missing_fields == []
    assert (row.days, row.happened_on) == (["2026-03-09", "2026-03-10"], date(2026, 3, 10))
    assert standing(taught, "T01", date(2026, 3, 10)) == "current"


def test_the_job_title_is_that_of_the_day(taught: Cast, signed_in: Any) -> None:
    """O-05: names and job titles of all who attended (29 CFR 1910.1030(h)(2)(i), V); the title as it was, and so it stays."""
    record(signed_in(taught.supervisor), taught, said(taught))
    held = RoleHeld.objects.get(person=taught.assistant.person)
    end_role(held, date(2026, 4, 1), by=taught.coordinator.person)
    give_role(
        taught.assistant.person, taught.lane, job_role(taught.organisation, "Hygienist"), date(2026, 4, 2), by=None
    )
    assert TaughtSession.objects.get().attendances.get().job_title == "Dental assistant"


@pytest.mark.parametrize(
    ("field", "lacks"),
    [
        ("summary", "contents or a summary"),
        ("trainer_qualification", "the trainer’s qualification"),
        ("language", "the language used"),
        ("handed_out", "what was handed out (“nothing” is an answer)"),
        ("live_questions", "live questions with the trainer"),
        ("trainer", "the trainer’s name"),
    ],
)
def test_what_is_missing_is_named_and_keeps_it_from_counting(
    taught: Cast, signed_in: Any, field: str, lacks: str
) -> None:
    client = signed_in(taught.supervisor)
    shown = client.get(record(client, taught, said(taught, **{field: ""})).url).content.decode()
    assert f"It lacks: {lacks}." in shown and "Does not count" in shown
    assert shown.count("Put it right</a>") == 1 and shown.index(f"It lacks {lacks}.") < shown.index("Put it right</a>")
    assert standing(taught, "T01", date(2026, 3, 10)) == "untrained"


def test_a_quiz_or_film_without_live_questions_does_not_count(taught: Cast, signed_in: Any) -> None:
    """O-04: the fourteenth element is live questions and answers (29 CFR 1910.1030(g)(2)(vii)(N), from memory)."""
    record(signed_in(taught.supervisor), taught, said(taught, live_questions="no"))
    assert standing(taught, "T01", date(2026, 3, 10)) == "untrained"


def test_protective_equipment_is_shown_and_not_only_taught(taught: Cast, signed_in: Any) -> None:
    """O-20: understanding and ability are demonstrated before the work (29 CFR 1910.132(f)(2), V)."""
    client = signed_in(taught.supervisor)
    record(client, taught, said(taught, "T04"))
    assert TaughtSession.objects.get().missing_fields == ["understanding shown, not only taught"]
    record(client, taught, said(taught, "T04", demonstrated="yes"))
    assert standing(taught, "T04", date(2026, 3, 10)) == "current"


def test_what_was_demonstrated_may_be_said_and_stands_in_the_binder(taught: Cast, signed_in: Any) -> None:
    client = signed_in(taught.supervisor)
    page = record(client, taught, said(taught, demonstration="Gloves, put on and taken off."))
    assert "Gloves, put on and taken off." in client.get(page.url).content.decode()
    (printed,) = sessions(BinderAsked(taught.lane, date(2026, 3, 1), date(2026, 3, 31), date(2026, 3, 31)))
    assert (printed.handed_out, printed.demonstrated) == (
        "Handed out: nothing.",
        "Demonstrated: Gloves, put on and taken off.",
    )


def test_a_session_counts_without_a_word_about_a_demonstration_and_the_binder_says_so(
    taught: Cast, signed_in: Any
) -> None:
    client = signed_in(taught.supervisor)
    record(client, taught, said(taught, handed_out=""))
    record(client, taught, said(taught, days="11 Mar 2026"))
    first, second = sessions(BinderAsked(taught.lane, date(2026, 3, 1), date(2026, 3, 31), date(2026, 3, 31)))
    assert (first.handed_out, second.demonstrated) == ("Handed out: not said.", "Demonstrated: not said.")
    assert second.countable == ""


def test_putting_a_session_right_keeps_what_was_demonstrated(taught: Cast, signed_in: Any) -> None:
    client = signed_in(taught.supervisor)
    record(client, taught, said(taught, demonstration="The eyewash run."))
    page = reverse("training:session_correct", args=[taught.lane.code, TaughtSession.objects.get().pk])
    assert "The eyewash run." in client.get(page).content.decode()


def test_an_extra_session_moves_no_yearly_day(taught: Cast, signed_in: Any) -> None:
    """O-03: extra training for a new exposure must not move the annual day (29 CFR 1910.1030(g)(2)(v), from memory)."""
    client = signed_in(taught.supervisor)
    record(client, taught, said(taught))
    record(client, taught, said(taught, days="10 Aug 2026", extra="on"))
    row = StandingSpan.objects.on(date(2026, 9, 1)).get(person=taught.assistant.person, procedure__code="T01")
    assert row.ends_on == date(2027, 3, 10)


def test_somebody_without_a_job_title_that_day_keeps_it_from_counting(taught: Cast, signed_in: Any) -> None:
    with_nobody = said(taught, days="3 Jan 2025")
    record(signed_in(taught.supervisor), taught, with_nobody)
    assert "the job title that Wren Adeyemi had that day" in TaughtSession.objects.get().missing_fields


def test_the_same_form_sent_twice_is_one_session(taught: Cast, signed_in: Any) -> None:
    client, data = signed_in(taught.supervisor), said(taught)
    assert [record(client, taught, data).status_code for _ in range(2)] == [302, 302]
    assert TaughtSession.objects.count() == 1


def test_a_day_that_cannot_be_read_keeps_what_was_typed(taught: Cast, signed_in: Any) -> None:
    shown = record(signed_in(taught.supervisor), taught, said(taught, days="09/03/2026")).content.decode()
    assert "Write each day with the month’s name" in shown and "All fourteen elements." in shown
    assert not TaughtSession.objects.exists()


def test_a_session_is_put_right_by_a_later_record(taught: Cast, signed_in: Any) -> None:
    client = signed_in(taught.supervisor)
    record(client, taught, said(taught, handed_out=""))
    wrong = TaughtSession.objects.get()
    address = reverse("training:session_correct", args=[taught.lane.code, wrong.pk])
    assert "All fourteen elements." in client.get(address).content.decode()
    client.post(address, said(taught, reason="The leaflet was left out.", **proof(taught.supervisor)))
    row = TaughtSession.objects.live().get()
    assert (row.corrects, row.reason) == (wrong.pk, "The leaflet was left out.")
    assert Signature.objects.filter(signs=row.pk).count() == 1
    assert (
        "put right later" in client.get(reverse("training:session", args=[taught.lane.code, wrong.pk])).content.decode()
    )


def test_an_assistant_reads_the_sessions_attended_and_records_none(taught: Cast, signed_in: Any) -> None:
    """O-07: open to the employee (29 CFR 1910.1030(h)(3), V)."""
    record(signed_in(taught.supervisor), taught, said(taught))
    address = reverse("training:session", args=[taught.lane.code, TaughtSession.objects.get().pk])
    asked = {
        who: signed_in(getattr(taught, who)).get(address).status_code
        for who in ("assistant", "second", "coordinator", "elsewhere")
    }
    assert asked == {"assistant": 200, "second": 404, "coordinator": 200, "elsewhere": 404}
    assert record(signed_in(taught.assistant), taught, said(taught)).status_code == 403


def test_the_list_says_what_each_lacks(taught: Cast, signed_in: Any) -> None:
    client = signed_in(taught.supervisor)
    record(client, taught, said(taught, language=""))
    shown = client.get(reverse("training:sessions", args=[taught.lane.code])).content.decode()
    assert "Does not count. It lacks the language used." in shown
    assert TaughtSession.objects.get().happened_on > REGISTER_START


def test_the_list_costs_the_same_however_many_attended(
    taught: Cast, signed_in: Any, django_assert_max_num_queries: Any
) -> None:
    client, address = signed_in(taught.supervisor), reverse("training:sessions", args=[taught.lane.code])
    record(client, taught, said(taught))
    with CaptureQueriesContext(connection) as few:
        client.get(address)
    asked = len(few)
    everyone = [member.person.pk for name, member in taught.members() if name in ("assistant", "second", "owner")]
    record(client, taught, said(taught, attendees=everyone))
    with django_assert_max_num_queries(asked):
        assert client.get(address).status_code == 200
