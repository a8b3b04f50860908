"""The roster's pages: who comes, changes and leaves; accounts, posts and outside witnesses."""

from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clinic import clock
from clinic.accounts import open_invitation
from clinic.actions.people import appoint, hire
from clinic.models import Account, Appointment, Change, JobRole, OutsideWitness, Person, Post
from tests.cast import Cast

pytestmark = pytest.mark.django_db
TODAY = date(2025, 3, 3)
LANE = "/millbrook-lane/people/roster/"
NELL = {"given_name": "Nell", "family_name": "Achterberg", "job_role": "Dental assistant", "from_day": "3 Mar 2025"}


@pytest.fixture(autouse=True)
def noon() -> Any:
    with clock.standing_at(datetime(2025, 3, 3, 12, tzinfo=UTC)):
        yield


def send(signed_in: Any, cast: Cast, tail: str, data: dict[str, Any], who: str = "coordinator") -> Any:
    return signed_in(getattr(cast, who)).post(LANE + tail, data)


def words(answer: Any) -> str:
    assert answer.status_code == 200, answer
    return " ".join(answer.content.decode().split())


def of(cast: Cast, tail: str, who: str = "assistant") -> str:
    return f"{getattr(cast, who).person.pk}/{tail}"


def test_a_person_and_the_first_job_role_are_entered_together(signed_in: Any, cast: Cast) -> None:
    answer = send(signed_in, cast, "new/", NELL | {"submission": uuid4()})
    nell = Person.objects.get(given_name="Nell")
    assert answer.url == f"{LANE}{nell.pk}/"
    assert [str(held) for held in nell.roles_held.all()] == ["Nell Achterberg: Dental assistant"]


def test_the_same_submission_twice_enters_one_person(signed_in: Any, cast: Cast) -> None:
    data = NELL | {"submission": uuid4(), "staff_number": "S20"}
    for _ in range(2):
        assert send(signed_in, cast, "new/", data).status_code == 302
    assert Person.objects.filter(given_name="Nell").count() == 1


def test_a_staff_number_names_one_person_and_what_was_typed_stays(signed_in: Any, cast: Cast) -> None:
    Person.objects.filter(pk=cast.assistant.person.pk).update(staff_number="S20")
    html = words(send(signed_in, cast, "new/", NELL | {"submission": uuid4(), "staff_number": "S20"}))
    assert "This is the number of Wren Adeyemi." in html
    assert 'value="Achterberg"' in html


def test_every_empty_field_says_what_to_write(signed_in: Any, cast: Cast) -> None:
    html = words(send(signed_in, cast, "new/", {"submission": uuid4(), "email": "x"}))
    for sentence in (
        "Write the given name.",
        "Write the job title",
        "Write the day, such as",
        "Write an address such as",
    ):
        assert sentence in html


def test_a_change_is_recorded_with_what_was_before(signed_in: Any, cast: Cast) -> None:
    data = {"given_name": "Wren", "family_name": "Okoro", "submission": uuid4()}
    assert send(signed_in, cast, of(cast, ""), data).status_code == 302
    change = Change.objects.filter(about_id=str(cast.assistant.person.pk)).latest("recorded_at")
    assert (change.before["family_name"], change.after["family_name"]) == ("Adeyemi", "Okoro")


def test_roles_add_up_and_one_held_already_is_refused(signed_in: Any, cast: Cast) -> None:
    assert (
        send(
            signed_in, cast, of(cast, "role/"), {"job_role": "Driver", "new_role": "on", "from_day": "3 Mar 2025"}
        ).status_code
        == 302
    )
    html = words(send(signed_in, cast, of(cast, "role/"), {"job_role": "driver", "from_day": "4 Mar 2025"}))
    assert "Wren Adeyemi already holds Driver in those days." in html


def test_the_same_role_sent_twice_is_held_once(signed_in: Any, cast: Cast) -> None:
    data = {"job_role": "Driver", "new_role": "on", "from_day": "3 Mar 2025"}
    assert [send(signed_in, cast, of(cast, "role/"), data).status_code for _ in range(2)] == [302, 302]
    assert cast.assistant.person.roles_held.filter(job_role__title="Driver").count() == 1


def test_a_role_ends_on_its_last_good_day_never_before_it_began(signed_in: Any, cast: Cast) -> None:
    held = cast.assistant.person.roles_held.get()
    assert "That is before it began." in words(send(signed_in, cast, f"roles/{held.pk}/end/", {"to_day": "5 Jan 2025"}))
    assert send(signed_in, cast, f"roles/{held.pk}/end/", {"to_day": "3 Mar 2025"}).status_code == 302
    held.refresh_from_db()
    assert held.to_day == TODAY


def test_leaving_ends_roles_and_keeps_the_person(signed_in: Any, cast: Cast) -> None:
    assert send(signed_in, cast, of(cast, "leave/"), {"to_day": "7 Mar 2025"}).status_code == 302
    person = Person.objects.get(pk=cast.assistant.person.pk)
    assert (person.last_day, person.roles_held.get().to_day) == (date(2025, 3, 7), date(2025, 3, 7))


def test_an_invitation_opens_an_account_and_shows_its_code_once(signed_in: Any, cast: Cast) -> None:
    nell = hire(
        Person(organisation=cast.organisation, home_site=cast.lane, given_name="Nell", family_name="A"), by=None
    )
    html = words(
        send(signed_in, cast, f"{nell.pk}/invite/", {"identity_checked": "Passport shown to Bram, 3 Mar 2025"})
    )
    code = html.split('class="answer code">')[1].split("<")[0]
    found = open_invitation(code)
    assert found is not None
    assert found.account == nell.account
    assert code not in words(signed_in(cast.coordinator).get(f"{LANE}{nell.pk}/"))


def test_an_account_needs_how_the_identity_was_checked(signed_in: Any, cast: Cast) -> None:
    nell = hire(
        Person(organisation=cast.organisation, home_site=cast.lane, given_name="Nell", family_name="A"), by=None
    )
    assert "Say by whom, where and how it was checked." in words(send(signed_in, cast, f"{nell.pk}/invite/", {}))
    assert not Account.objects.filter(person=nell).exists()


def test_a_new_invitation_ends_the_earlier_one(signed_in: Any, cast: Cast) -> None:
    cast.assistant.account.set_unusable_password()
    cast.assistant.account.save()
    for _ in range(2):
        words(send(signed_in, cast, of(cast, "invite/"), {"again": "yes"}))
    still = cast.assistant.account.invitations.filter(used_at__isnull=True, expires_at__gt=clock.now())
    assert still.count() == 1


def test_a_lost_device_is_signed_out_at_once(signed_in: Any, cast: Cast) -> None:
    """E-26, 21 CFR 11.300(c), M: a lost device loses its way in."""
    lost = signed_in(cast.assistant)
    assert lost.get(f"/millbrook-lane/people/{cast.assistant.person.pk}/").status_code == 200
    assert send(signed_in, cast, of(cast, "lost-device/"), {}).status_code == 302
    assert lost.get(f"/millbrook-lane/people/{cast.assistant.person.pk}/").status_code == 302


def test_the_review_names_accounts_without_a_person_at_work(signed_in: Any, cast: Cast) -> None:
    Person.objects.filter(pk=cast.assistant.person.pk).update(last_day=TODAY - timedelta(days=1))
    html = words(signed_in(cast.coordinator).get(LANE + "accounts/"))
    idle = html.split('id="idle"')[1].split("</section>")[0]
    assert "wren.adeyemi" in idle
    assert "ines.pellow" not in idle


def test_a_closed_account_cannot_sign_in_and_can_be_opened_again(signed_in: Any, cast: Cast) -> None:
    account = cast.assistant.account
    for act, is_active in (
        ("close", False),
        ("close", False),
        ("open", True),
        ("open", True),
        ("", True),
    ):  # each sent twice
        assert send(signed_in, cast, f"accounts/{account.pk}/", {"act": act}).status_code == 302
        account.refresh_from_db()
        assert account.is_active is is_active


def test_nobody_closes_their_own_account(signed_in: Any, cast: Cast) -> None:
    send(signed_in, cast, f"accounts/{cast.coordinator.account.pk}/", {"act": "close"})
    assert Account.objects.get(pk=cast.coordinator.account.pk).is_active


def post(cast: Cast, **more: Any) -> dict[str, Any]:
    return {"person": cast.second.person.pk, "post": "coordinator", "from_day": "3 Mar 2025"} | more


def test_the_owner_appoints_at_this_site_or_at_every_one(signed_in: Any, cast: Cast) -> None:
    send(signed_in, cast, "posts/new/", post(cast), who="owner")
    send(signed_in, cast, "posts/new/", post(cast, post="owner", everywhere="on"), who="owner")
    rows = Appointment.objects.filter(person=cast.second.person).order_by("pk")
    assert [(row.post, row.site) for row in rows] == [("coordinator", cast.lane), ("owner", None)]


def test_a_post_held_already_is_refused(signed_in: Any, cast: Cast) -> None:
    assert send(signed_in, cast, "posts/new/", post(cast), who="owner").status_code == 302
    later = post(cast) | {"from_day": "4 Mar 2025"}
    assert "holds that post in those days already" in words(send(signed_in, cast, "posts/new/", later, who="owner"))


def test_the_last_owner_keeps_the_post(signed_in: Any, cast: Cast) -> None:
    """Tobias owns the group for this week only: with Hester's post over, nobody would own it next week."""
    row = Appointment.objects.get(person=cast.owner.person, post=Post.OWNER)
    week = Appointment(
        person=cast.second.person, post=Post.OWNER, from_day=TODAY, to_day=TODAY + timedelta(days=7), site=None
    )
    appoint(week, at=cast.lane, by=cast.owner.person)
    html = words(send(signed_in, cast, f"posts/{row.pk}/end/", {"to_day": "3 Mar 2025"}, who="second"))
    assert "Appoint another owner first." in html
    assert Appointment.objects.get(pk=row.pk).to_day is None


def test_nobody_ends_a_post_of_their_own(signed_in: Any, cast: Cast) -> None:
    row = Appointment.objects.get(person=cast.owner.person, post=Post.OWNER)
    assert send(signed_in, cast, f"posts/{row.pk}/end/", {"to_day": "3 Mar 2025"}, who="owner").status_code == 403
    assert Appointment.objects.get(pk=row.pk).to_day is None


def test_a_post_ends_on_its_last_day(signed_in: Any, cast: Cast) -> None:
    row = Appointment.objects.get(person=cast.coordinator.person)
    assert send(signed_in, cast, f"posts/{row.pk}/end/", {"to_day": "3 Mar 2025"}, who="owner").status_code == 302
    row.refresh_from_db()
    assert row.to_day == TODAY


def test_an_outside_witness_is_entered_once_with_how_they_were_known(signed_in: Any, cast: Cast) -> None:
    data = {
        "printed_name": "Greta Lom",
        "qualification": "Trainer",
        "comes_from": "Another practice",
        "identified_how": "Badge",
    }
    for _ in range(2):
        send(signed_in, cast, "witnesses/new/", data | {"submission": "00000000-0000-4000-8000-000000000001"})
    assert OutsideWitness.objects.get().identified_how == "Badge"


@pytest.mark.parametrize("tail", ["", "new/", "import/", "export/", "accounts/", "witnesses/", "posts/"])
@pytest.mark.parametrize(("who", "status"), [("assistant", 403), ("supervisor", 403), ("elsewhere", 404)])
def test_only_the_roster_keepers_get_in(signed_in: Any, cast: Cast, tail: str, who: str, status: int) -> None:
    assert signed_in(getattr(cast, who)).get(LANE + tail).status_code == status


def test_only_the_owner_appoints(signed_in: Any, cast: Cast) -> None:
    assert signed_in(cast.coordinator).get(LANE + "posts/new/").status_code == 403


@pytest.mark.parametrize("tail", ["", "role/", "leave/", "invite/", "lost-device/"])
def test_a_person_of_another_site_does_not_exist_here(signed_in: Any, cast: Cast, tail: str) -> None:
    assert signed_in(cast.coordinator).get(LANE + of(cast, tail, "elsewhere")).status_code == 404


def test_the_roster_costs_no_more_queries_with_thirty_people(signed_in: Any, cast: Cast) -> None:
    client, counts = signed_in(cast.coordinator), []
    client.get(LANE)  # a session says once a minute that it was seen
    for size in (3, 27):
        Person.objects.bulk_create(
            Person(organisation=cast.organisation, home_site=cast.lane, given_name=f"G{n}", family_name=f"F{size}")
            for n in range(size)
        )
        with CaptureQueriesContext(connection) as seen:
            client.get(LANE)
            client.get(LANE + "accounts/")
        counts.append(len(seen))
    assert counts[0] == counts[1]


def test_a_day_that_may_be_two_is_asked_once_in_words_and_nothing_is_kept_before(signed_in: Any, cast: Cast) -> None:
    data = {"job_role": "Driver", "new_role": "on", "from_day": "03/04/2025"}
    html = send(signed_in, cast, of(cast, "role/"), data).content.decode()
    assert "is read as 3 Apr 2025. If that is right, send this again. If you mean 4 Mar 2025, write that." in html
    assert 'value="3 Apr 2025"' in html and not JobRole.objects.filter(title="Driver").exists()
    assert send(signed_in, cast, of(cast, "role/"), data | {"from_day": "3 Apr 2025"}).status_code == 302


def test_a_mistyped_job_role_is_refused_with_the_nearest(signed_in: Any, cast: Cast) -> None:
    html = words(send(signed_in, cast, of(cast, "role/"), {"job_role": "Dental asistant", "from_day": "3 Mar 2025"}))
    assert "the nearest is “Dental assistant”. Choose it, or tick that this is a new one." in html
    assert not JobRole.objects.filter(title="Dental asistant").exists()
