"""Getting back into an account (row E-22, 21 CFR 11.200(a)(3), V: misuse by anyone but the genuine owner needs two people).

Our own design, D: who is second, how long a code lives, and that the account's owner is told.
"""

from datetime import timedelta
from io import StringIO
from typing import Any
from uuid import uuid4

import pytest
from django.core import mail
from django.core.management import call_command
from django.core.management.base import CommandError
from django.test import Client
from django.urls import reverse

from clinic import clock
from clinic.accounts import new_code, open_invitation
from clinic.actions import recovery
from clinic.actions.invitations import accept
from clinic.actions.people import change_person, leave
from clinic.actions.recovery import ask_recovery, confirm_recovery, mailable, refusals_to_confirm
from clinic.models import AccountRecovery, Change, Person, Post, Seal
from clinic.ranks import may_open_for
from clinic.record import Refused
from tests.cast import PASSWORD, Cast, Member, appoint, member

pytestmark = pytest.mark.django_db
NEW = "nine lanterns by the quay"
HOW = "She stood before me at Millbrook Lane."
GIVEN = {"way": "slip", "proved": "sign-in name and password", "address": "/invitation/{code}/"}
ROSTER = "/millbrook-lane/people/roster/"


def ask(cast: Cast, who: Member, by: Member | None = None, **more: Any) -> AccountRecovery:
    return ask_recovery(who.person, by=(by or cast.coordinator).person, how=HOW, **more)


def confirm(asked: AccountRecovery, by: Member, **more: Any) -> str:
    return confirm_recovery(asked, by=by.person, **(GIVEN | more))


def choose(code: str, password: str = NEW) -> Any:
    return Client().post(
        f"/invitation/{code}/", {"new_password1": password, "new_password2": password, "accepts": "on"}
    )


def opens(who: Member, password: str) -> bool:
    sent = {"username": who.account.sign_in_name, "password": password}
    return Client().post("/sign-in/", sent).status_code == 302


# Two people, and the genuine owner.


def test_a_coordinator_reads_no_code_for_an_account_that_exists(cast: Cast, signed_in: Any) -> None:
    answer = signed_in(cast.coordinator).post(f"{ROSTER}{cast.owner.person.pk}/invite/", {"identity_checked": HOW})
    assert answer.url == f"{ROSTER}{cast.owner.person.pk}/recovery/"
    assert not cast.owner.account.invitations.filter(expires_at__gt=clock.now(), recovery__isnull=False).exists()


def test_whoever_asks_does_not_confirm(cast: Cast) -> None:
    asked = ask(cast, cast.assistant)
    with pytest.raises(Refused, match="You asked for it"):
        confirm(asked, cast.coordinator)


def test_nobody_confirms_for_their_own_account(cast: Cast) -> None:
    asked = ask(cast, cast.owner)
    with pytest.raises(Refused, match="your own account"):
        confirm(asked, cast.owner)


def test_nobody_asks_for_their_own_account(cast: Cast) -> None:
    with pytest.raises(Refused, match="Nobody asks for their own"):
        ask(cast, cast.coordinator, by=cast.coordinator)


@pytest.mark.parametrize("who", ["supervisor", "second", "assistant", "elsewhere", "inspector"])
def test_nobody_below_confirms_for_the_owner(cast: Cast, who: str) -> None:
    asked = ask(cast, cast.owner)
    with pytest.raises(Refused, match="do not stand as high"):
        confirm(asked, getattr(cast, who))


def test_the_code_sets_a_password_once_and_ends_what_was_open(cast: Cast, signed_in: Any) -> None:
    before = signed_in(cast.assistant)
    code = confirm(ask(cast, cast.assistant), cast.owner)
    assert choose(code).status_code == 302
    assert (opens(cast.assistant, NEW), opens(cast.assistant, PASSWORD)) == (True, False)
    assert choose(code, "ten lanterns by the quay").status_code == 410
    assert before.get("/millbrook-lane/today/").status_code == 302


def test_every_step_is_a_sealed_fact_that_says_who(cast: Cast) -> None:
    choose(confirm(ask(cast, cast.assistant), cast.owner))
    rows = AccountRecovery.objects.order_by("recorded_at")
    people = [cast.coordinator.person, cast.owner.person, cast.assistant.person]
    assert [(row.step, row.recorded_by) for row in rows] == list(
        zip(["asked", "confirmed", "used"], people, strict=True)
    )
    assert Seal.objects.filter(fact__in=rows.values("pk")).count() == 3


def test_a_first_password_leaves_a_sealed_fact_too(cast: Cast) -> None:
    account = cast.assistant.account
    account.set_unusable_password()
    account.save()
    choose(new_code(account, by=None, until=clock.now() + timedelta(days=1)))
    assert Change.objects.filter(said=f"Wren Adeyemi chose the first password of {account.sign_in_name}").count() == 1


# Who stands high enough, and where.


@pytest.fixture
def local_owner(cast: Cast) -> Member:
    """Owns Sandbar Court and no other site."""
    made = member(cast.court, "Edda", "Marsh", "Dentist")
    appoint(made, Post.OWNER, cast.court, cast.court)
    return made


def test_an_owner_of_one_site_opens_no_account_of_the_groups_owner(cast: Cast, local_owner: Member) -> None:
    assert not may_open_for(local_owner.person, cast.owner.person)
    assert may_open_for(cast.owner.person, local_owner.person)


def test_an_owner_of_one_site_opens_no_account_of_the_safety_officer(cast: Cast, local_owner: Member) -> None:
    officer = member(cast.court, "Otto", "Brandt", None)
    appoint(officer, Post.SAFETY_OFFICER, None, cast.court)
    assert not may_open_for(local_owner.person, officer.person)


def test_somebody_of_another_site_who_was_appointed_here_stays_out_of_reach(cast: Cast, local_owner: Member) -> None:
    appoint(cast.supervisor, Post.COORDINATOR, cast.court, cast.court)
    assert not may_open_for(local_owner.person, cast.supervisor.person)
    assert may_open_for(cast.owner.person, cast.supervisor.person)


def test_a_post_that_is_still_to_come_counts_already(cast: Cast, local_owner: Member) -> None:
    appointment = appoint(cast.elsewhere, Post.OWNER, None, cast.court)
    appointment.from_day = clock.today("UTC") + timedelta(days=30)
    appointment.save()
    assert not may_open_for(local_owner.person, cast.elsewhere.person)


def test_a_coordinator_makes_no_first_invitation_for_an_owner(cast: Cast, signed_in: Any) -> None:
    made = member(cast.lane, "Nell", "Frost", "Dentist")
    appoint(made, Post.OWNER, cast.lane, cast.lane)
    made.account.delete()
    sent = {"identity_checked": HOW}
    shown = signed_in(cast.coordinator).post(f"{ROSTER}{made.person.pk}/invite/", sent).content.decode()
    assert "You do not stand as high as Nell Frost" in shown
    assert b"chooses a password with" in signed_in(cast.owner).post(f"{ROSTER}{made.person.pk}/invite/", sent).content


def test_it_is_asked_for_at_the_persons_own_site(cast: Cast, signed_in: Any) -> None:
    client, court = signed_in(cast.owner), "/sandbar-court/people/roster/"
    assert client.get(f"{court}{cast.assistant.person.pk}/recovery/").status_code == 404
    assert client.get(f"{court}{cast.elsewhere.person.pk}/recovery/").status_code == 200


# Time.


def test_a_request_waits_three_days_for_the_second_person(cast: Cast) -> None:
    asked = ask(cast, cast.assistant)
    with clock.standing_at(asked.recorded_at + timedelta(days=3)):
        assert refusals_to_confirm(asked, cast.owner.person) == []
    with clock.standing_at(asked.recorded_at + timedelta(days=3, seconds=1)), pytest.raises(Refused, match="is over"):
        confirm(asked, cast.owner)


@pytest.mark.parametrize(("days", "led"), [(2, False), (4, True)])
def test_a_request_that_is_over_leads_to_asking_anew(cast: Cast, signed_in: Any, days: int, led: bool) -> None:
    asked = ask(cast, cast.assistant)
    page, anew = (reverse(f"clinic:{name}", args=["millbrook-lane", pk]) for name, pk in (
        ("recovery", asked.pk), ("recovery_ask", asked.person_id),
    ))  # fmt: skip
    with clock.standing_at(asked.recorded_at + timedelta(days=days)):
        shown = signed_in(cast.coordinator).get(page).content.decode()
    assert (f'href="{anew}">Ask for it anew</a>' in shown) is led


def test_a_code_lives_for_a_day(cast: Cast) -> None:
    code = confirm(ask(cast, cast.assistant), cast.owner)
    with clock.standing_at(clock.now() + timedelta(hours=24, seconds=1)):
        assert open_invitation(code) is None
    assert open_invitation(code) is not None


def test_confirmed_twice_gives_one_code(cast: Cast) -> None:
    asked = ask(cast, cast.assistant)
    confirm(asked, cast.owner)
    with pytest.raises(Refused, match="confirmed already"):
        confirm(asked, cast.owner)


def test_asked_twice_under_one_id_is_one_and_a_second_is_refused(cast: Cast) -> None:
    one = uuid4()
    assert ask(cast, cast.assistant, id=one) == ask(cast, cast.assistant, id=one)
    with pytest.raises(Refused, match="already asked for"):
        ask(cast, cast.assistant)


def test_nothing_is_asked_for_without_saying_how_it_was_checked(cast: Cast) -> None:
    with pytest.raises(Refused, match="How it was checked"):
        ask_recovery(cast.assistant.person, by=cast.coordinator.person, how="  ")


# The pages.


def page(asked: AccountRecovery) -> str:
    return f"{ROSTER}recoveries/{asked.pk}/"


def proof(who: Member, password: str = PASSWORD) -> dict[str, Any]:
    return {"submission": uuid4(), "way": "slip", "sign_in_name": who.account.sign_in_name, "password": password}


def code_on(answer: Any) -> str:
    return answer.context["code"] if answer.context and "code" in answer.context else ""


def test_the_slip_opens_only_after_the_second_persons_proof(cast: Cast, signed_in: Any) -> None:
    asked, client = ask(cast, cast.assistant), signed_in(cast.owner)
    assert "code" not in client.get(page(asked)).context
    assert code_on(client.post(page(asked), proof(cast.owner, "not my password at all"))) == ""
    assert code_on(client.post(page(asked), proof(cast.supervisor))) == ""
    assert choose(code_on(client.post(page(asked), proof(cast.owner)))).status_code == 302


def test_whoever_asked_is_told_that_somebody_else_confirms(cast: Cast, signed_in: Any) -> None:
    client = signed_in(cast.coordinator)
    sent = {"submission": uuid4(), "how": HOW}
    asked_page = client.post(f"{ROSTER}{cast.assistant.person.pk}/recovery/", sent).url
    assert "You asked for it." in client.get(asked_page).content.decode()
    assert code_on(client.post(asked_page, proof(cast.coordinator))) == ""


# The owner of the account is told.


@pytest.fixture
def mailed(cast: Cast, settings: Any) -> Cast:
    settings.EMAIL_HOST = "mail.example"
    Person.objects.filter(pk=cast.assistant.person.pk).update(email="wren@example.org")
    cast.assistant.person.refresh_from_db()
    return cast


def test_a_mailed_code_is_seen_by_nobody_else(mailed: Cast, signed_in: Any) -> None:
    asked = ask(mailed, mailed.assistant)
    answer = signed_in(mailed.owner).post(page(asked), proof(mailed.owner) | {"way": "mail"})
    link = next(word for each in mail.outbox for word in each.body.split() if "/invitation/" in word)
    assert answer.status_code == 302 and choose(link.rstrip("/").rpartition("/")[2]).status_code == 302
    assert {to for each in mail.outbox for to in each.to} == {"wren@example.org"}


def test_each_step_is_mailed_to_the_owner_of_the_account(mailed: Cast) -> None:
    choose(confirm(ask(mailed, mailed.assistant), mailed.owner))
    said = [each.body.split("\n")[0] for each in mail.outbox]
    assert [words.split(", ", 1)[1][:27] for words in said] == [
        "Bram Okafor asked to open y", "Hester Vane confirmed that ", "A new password was chosen f",
    ]  # fmt: skip


def test_no_code_is_mailed_to_an_address_entered_this_week(mailed: Cast) -> None:
    who = mailed.assistant.person
    who.email = "bram@example.org"
    change_person(who, by=mailed.coordinator.person)
    assert mailable(who) == ""
    with clock.standing_at(clock.now() + timedelta(days=7, minutes=1)):
        assert mailable(who) == "bram@example.org"


def test_mail_that_does_not_leave_confirms_nothing(mailed: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(subject: str, *args: Any) -> None:
        raise OSError("no way out")

    asked = ask(mailed, mailed.assistant)
    monkeypatch.setattr(recovery, "send_mail", refuse)
    with pytest.raises(Refused, match="did not leave"):
        confirm(asked, mailed.owner, way="mail")
    assert not asked.steps.exists() and confirm(asked, mailed.owner)


@pytest.mark.parametrize(("days", "is_told"), [(0, True), (13, True), (15, False)])
def test_each_sign_in_of_two_weeks_tells_who_asked_and_who_confirmed(cast: Cast, days: int, is_told: bool) -> None:
    choose(confirm(ask(cast, cast.assistant), cast.owner))
    with clock.standing_at(clock.now() + timedelta(days=days)):
        client = Client()
        client.post("/sign-in/", {"username": cast.assistant.account.sign_in_name, "password": NEW})
        shown = client.get("/millbrook-lane/today/").content.decode()
    said = ["Bram Okafor asked to open your account anew", "Hester Vane confirmed it", "a new password was chosen"]
    assert [words in shown for words in said] == [is_told] * 3


# Where there is no second person.


def at_the_machine(who: Member, *more: str) -> str:
    out = StringIO()
    call_command("recover_account", who.account.sign_in_name, "--how", HOW, *more, stdout=out)
    return next(line.strip() for line in out.getvalue().splitlines() if "/invitation/" in line).split("/")[2]


def test_a_lone_owner_gets_back_in_at_the_machine_and_it_leaves_the_same_facts(cast: Cast) -> None:
    assert choose(at_the_machine(cast.owner)).status_code == 302
    rows = list(AccountRecovery.objects.order_by("recorded_at").values_list("step", "recorded_by", "way"))
    assert rows == [("asked", None, ""), ("confirmed", None, "machine"), ("used", cast.owner.person.pk, "")]


def test_at_the_machine_what_was_asked_for_on_a_page_is_confirmed(cast: Cast) -> None:
    asked = ask(cast, cast.owner)
    at_the_machine(cast.owner)
    assert [each.step for each in asked.steps.all()] == ["confirmed"]


def test_an_owner_whose_first_invitation_is_over_is_invited_anew_at_the_machine(cast: Cast) -> None:
    cast.owner.account.set_unusable_password()
    cast.owner.account.save()
    assert choose(at_the_machine(cast.owner)).status_code == 302
    assert not AccountRecovery.objects.exists()


def test_a_name_that_nobody_has_is_refused_at_the_machine(cast: Cast) -> None:
    with pytest.raises(CommandError, match="Nobody signs in as"):
        call_command("recover_account", "nobody.here", "--how", HOW)


def test_whoever_has_left_gets_in_by_no_code(cast: Cast) -> None:
    code = confirm(ask(cast, cast.assistant), cast.owner)
    leave(cast.assistant.person, clock.today("UTC") - timedelta(days=1), by=cast.owner.person)
    assert choose(code).status_code == 410


def test_a_code_used_by_two_at_once_sets_one_password(cast: Cast) -> None:
    found = open_invitation(confirm(ask(cast, cast.assistant), cast.owner))
    accept(found, NEW)
    with pytest.raises(Refused, match="used already"):
        accept(found, "ten lanterns by the quay")
    assert opens(cast.assistant, NEW)


# Closing an account takes as high a post as opening it.


def closing(client: Client, who: Member) -> str:
    act = "close" if who.account.is_active else "open"
    answer = client.post(f"{ROSTER}accounts/{who.account.pk}/", {"act": act}, follow=True)
    who.account.refresh_from_db()
    return answer.content.decode()


def test_a_coordinator_closes_no_account_of_an_owner_and_an_owner_hers(cast: Cast, signed_in: Any) -> None:
    assert "holds a higher post than you" in closing(signed_in(cast.coordinator), cast.owner)
    assert cast.owner.account.is_active
    assert "is closed" in closing(signed_in(cast.owner), cast.coordinator) and not cast.coordinator.account.is_active
    assert "is open again" in closing(signed_in(cast.owner), cast.coordinator)


def test_a_coordinator_opens_no_account_of_an_owner_again(cast: Cast, signed_in: Any) -> None:
    cast.owner.account.is_active = False
    cast.owner.account.save()
    assert "holds a higher post than you" in closing(signed_in(cast.coordinator), cast.owner)
    assert not cast.owner.account.is_active


def test_whoever_has_left_is_closed_by_the_coordinator(cast: Cast, signed_in: Any) -> None:
    leave(cast.assistant.person, clock.today("UTC") - timedelta(days=1), by=cast.owner.person)
    assert "is closed" in closing(signed_in(cast.coordinator), cast.assistant)
