"""PINs at a shared tablet. Rows A-06 (NIST SP 800-63B-4, activation secrets, V draft: six digits or more, at most ten tries),
A-08 (OWASP session management, V; D: twelve hours in all), A-10 (ASVS 14.3.1: nothing of the last user is left), E-19
(21 CFR 11.200(a)(1): two parts), E-22 (11.200(a)(2): used by its owner only)."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.test import Client

from clinic import pins
from clinic.accounts import end_sessions
from clinic.actions.people import leave as leaves_work
from clinic.actions.roster import sign_out_everywhere
from clinic.lock import SIGNED_IN
from clinic.models import Change, Pin, RoleHeld, SigningAttempt, UpkeepEntry
from tests.cast import PASSWORD, Cast, Member
from tests.clinic.test_own_account import IPAD, NEW

pytestmark = pytest.mark.django_db
MORNING = datetime(2026, 3, 3, 8, tzinfo=UTC)
TODAY, CHOOSE = "/millbrook-lane/today/", "/account/pin/"
DIGITS, WRONG = "402917", "402918"


@pytest.fixture
def time() -> Iterator[Any]:
    with time_machine.travel(MORNING, tick=False) as travel:
        yield travel


@pytest.fixture
def tablet(time: Any) -> Client:
    """One device that several people hold."""
    return Client(HTTP_USER_AGENT=IPAD)


def sign_in(tablet: Client, who: Member, password: str = PASSWORD, at: str = "/sign-in/") -> Any:
    return tablet.post(at, {"username": who.account.sign_in_name, "password": password})


def choose(tablet: Client, digits: str = DIGITS, **more: Any) -> Any:
    return tablet.post(CHOOSE, {"submission": uuid4(), "pin": digits, "again": digits, "password": PASSWORD} | more)


def chosen(tablet: Client, who: Member, digits: str = DIGITS) -> Pin:
    assert sign_in(tablet, who).status_code == 302
    assert choose(tablet, digits).status_code == 302
    return who.account.pins.get()


def come(tablet: Client, pin: Pin | None, digits: str = DIGITS) -> bool:
    """Choose a name and type six digits; whether that opened the tablet."""
    return tablet.post("/pin/", {"who": pin.pk if pin else uuid4(), "pin": digits}).status_code == 302


def is_in(tablet: Client) -> bool:
    return tablet.get(TODAY).status_code == 200


def names(tablet: Client) -> list[str]:
    form = tablet.get("/sign-in/").context["by_pin"]
    return [] if form is None else [str(row.account.person) for row in form.fields["who"].queryset]


def leave(tablet: Client) -> None:
    tablet.post("/change-person/")


# ---- choosing one


def test_it_is_chosen_after_the_password_and_a_sealed_note_says_so(tablet: Client, cast: Cast) -> None:
    sign_in(tablet, cast.assistant)
    assert choose(tablet, password="not my password").status_code == 200 and not Pin.objects.exists()
    chosen(tablet, cast.assistant)
    said = f"{cast.assistant.person} chose a PIN for Safari on an iPad"
    assert Change.objects.filter(about="clinic.account", said=said, recorded_by=cast.assistant.person).count() == 1
    assert said in tablet.get("/account/").content.decode()


def test_a_form_sent_twice_chooses_once(tablet: Client, cast: Cast) -> None:
    sign_in(tablet, cast.assistant)
    id = uuid4()
    assert [choose(tablet, submission=id).status_code for _ in range(2)] == [302, 302]
    assert Change.objects.filter(said__contains="chose a PIN").count() == 1


@pytest.mark.parametrize(
    "digits", ["000000", "123456", "987654", "890123", "121212", "482482", "12345", "1234567", "four 6", "１２３４５９"]
)
def test_what_anybody_would_try_first_is_refused(tablet: Client, cast: Cast, digits: str) -> None:
    sign_in(tablet, cast.assistant)
    assert choose(tablet, digits).context["form"].errors["pin"] and not Pin.objects.exists()


def test_a_day_of_ones_own_record_is_refused(tablet: Client, cast: Cast) -> None:
    day = cast.assistant.person.roles_held.get().from_day
    sign_in(tablet, cast.assistant)
    for way in ("%d%m%y", "%y%m%d"):
        assert "day that stands in your record" in str(choose(tablet, day.strftime(way)).context["form"].errors)


def test_two_that_differ_choose_nothing(tablet: Client, cast: Cast) -> None:
    sign_in(tablet, cast.assistant)
    assert choose(tablet, again=WRONG).context["form"].errors["again"] and not Pin.objects.exists()


def test_the_database_alone_tries_no_pin(tablet: Client, cast: Cast) -> None:
    """The digits are hashed with what only the device keeps."""
    row, device = chosen(tablet, cast.assistant), tablet.cookies["device"].value
    assert device not in (row.device, row.proof)
    assert not pins.is_right(row, DIGITS, row.device) and pins.is_right(row, DIGITS, device)


# ---- coming in by one


def test_who_comes_back_by_pin_is_in_and_the_twelve_hours_go_on(tablet: Client, cast: Cast, time: Any) -> None:
    pin = chosen(tablet, cast.assistant)
    leave(tablet)
    time.shift(timedelta(hours=3))
    assert not is_in(tablet) and come(tablet, pin) and is_in(tablet)
    assert tablet.session[SIGNED_IN] == MORNING.timestamp()


def test_twelve_hours_after_the_password_it_counts_no_more(tablet: Client, cast: Cast, time: Any) -> None:
    """A-08, D: twelve hours in all, from the password."""
    pin = chosen(tablet, cast.assistant)
    time.shift(timedelta(hours=12))
    assert come(tablet, pin)
    time.shift(timedelta(seconds=1))
    assert not come(tablet, pin) and names(tablet) == [] and not is_in(tablet)


def test_on_another_day_the_password_comes_first(tablet: Client, cast: Cast, time: Any) -> None:
    time.shift(timedelta(hours=12))
    pin = chosen(tablet, cast.assistant)
    leave(tablet)
    time.shift(timedelta(hours=5))  # past midnight at the site
    assert not come(tablet, pin)
    sign_in(tablet, cast.assistant)
    leave(tablet)
    assert come(tablet, pin)


def test_on_another_device_it_counts_nowhere(tablet: Client, cast: Cast) -> None:
    pin = chosen(tablet, cast.assistant)
    other = Client()
    assert not come(other, pin) and names(other) == []
    sign_in(other, cast.assistant)
    leave(other)
    assert not come(other, pin) and come(tablet, pin)


def test_an_own_locked_session_goes_on_by_pin(tablet: Client, cast: Cast, time: Any) -> None:
    pin = chosen(tablet, cast.assistant)
    row = cast.assistant.account.signed_in.get()
    time.shift(timedelta(minutes=6))
    assert not is_in(tablet) and names(tablet) == [str(cast.assistant.person)]
    assert not come(tablet, pin, WRONG) and not is_in(tablet)
    assert come(tablet, pin) and is_in(tablet)
    assert cast.assistant.account.signed_in.get().pk == row.pk


def test_a_tablet_changes_hands_in_a_choice_and_a_pin(tablet: Client, cast: Cast) -> None:
    """A-10: nothing of the last person is left, and a page that is gone back to asks who is there."""
    first = chosen(tablet, cast.assistant)
    leave(tablet)
    second = chosen(tablet, cast.supervisor, "730518")
    leave(tablet)
    assert sorted(names(tablet)) == sorted([str(cast.assistant.person), str(cast.supervisor.person)])
    assert not come(tablet, second, DIGITS) and come(tablet, first)
    assert tablet.get(TODAY).context["me"] == cast.assistant.person
    leave(tablet)
    answer = tablet.get(TODAY)
    assert answer.status_code == 302 and answer.url.startswith("/sign-in/")
    assert come(tablet, second, "730518") and tablet.get(TODAY).context["me"] == cast.supervisor.person
    assert "no-store" in tablet.get(TODAY).headers["Cache-Control"]


def test_somebody_else_at_a_locked_tablet_begins_a_session_of_their_own(tablet: Client, cast: Cast, time: Any) -> None:
    pin = chosen(tablet, cast.supervisor)
    leave(tablet)
    sign_in(tablet, cast.assistant)
    key = tablet.session.session_key
    time.shift(timedelta(minutes=6))
    assert come(tablet, pin) and tablet.get(TODAY).context["me"] == cast.supervisor.person
    assert not type(tablet.session)().exists(key)


def test_a_stranger_has_no_pin_and_is_told_no_name(tablet: Client, cast: Cast) -> None:
    pin = chosen(tablet, cast.assistant)
    stranger = Client()
    answer = stranger.post("/pin/", {"who": pin.pk, "pin": DIGITS})
    assert answer.status_code == 200 and b"Wren" not in answer.content
    assert stranger.get("/pin/").status_code == 405


# ---- throttle


def test_after_five_wrong_tries_the_password_is_asked(tablet: Client, cast: Cast) -> None:
    pin = chosen(tablet, cast.assistant)
    leave(tablet)
    assert [come(tablet, pin, WRONG) for _ in range(5)] == [False] * 5
    assert not come(tablet, pin) and names(tablet) == []
    sign_in(tablet, cast.assistant)
    leave(tablet)
    assert come(tablet, pin)


def test_a_right_one_gives_none_of_the_days_tries_back(tablet: Client, cast: Cast) -> None:
    pin = chosen(tablet, cast.assistant)
    tries = [WRONG, WRONG, DIGITS, WRONG, WRONG, DIGITS, WRONG, DIGITS]
    assert [come(tablet, pin, each) for each in tries] == [False, False, True, False, False, True, False, False]


def test_after_ten_wrong_ones_in_a_row_another_must_be_chosen(tablet: Client, cast: Cast) -> None:
    """A-06: ten tries in all, whatever passwords came between."""
    pin = chosen(tablet, cast.assistant)
    for _ in range(2):
        leave(tablet)
        assert [come(tablet, pin, WRONG) for _ in range(5)] == [False] * 5
        sign_in(tablet, cast.assistant)
    leave(tablet)
    assert not come(tablet, pin)
    sign_in(tablet, cast.assistant)
    choose(tablet, "730518")
    leave(tablet)
    assert come(tablet, cast.assistant.account.pins.get(), "730518")


def test_wrong_ones_are_seen_by_the_owner_like_wrong_passwords(tablet: Client, cast: Cast) -> None:
    """E-27, M."""
    come(tablet, chosen(tablet, cast.assistant), WRONG)
    assert SigningAttempt.objects.filter(account=cast.assistant.account, succeeded=False).count() == 1


def test_unlocking_by_password_forgives_the_days_tries(tablet: Client, cast: Cast, time: Any) -> None:
    pin = chosen(tablet, cast.assistant)
    for _ in range(5):
        come(tablet, pin, WRONG)
    time.shift(timedelta(minutes=6))
    assert not is_in(tablet) and not come(tablet, pin)
    sign_in(tablet, cast.assistant, at="/unlock/")
    time.shift(timedelta(minutes=6))
    assert not is_in(tablet) and come(tablet, pin)


# ---- ending


def test_signing_out_lets_it_sleep_until_the_password(tablet: Client, cast: Cast) -> None:
    pin = chosen(tablet, cast.assistant)
    tablet.post("/sign-out/")
    assert not come(tablet, pin) and names(tablet) == []
    sign_in(tablet, cast.assistant)
    leave(tablet)
    assert come(tablet, pin)


def a_lost_device(cast: Cast, who: Member) -> None:
    sign_out_everywhere(who.account, at=cast.lane, by=cast.owner.person)


def leaving(cast: Cast, who: Member) -> None:
    with time_machine.travel(MORNING + timedelta(days=1), tick=False):
        leaves_work(who.person, MORNING.date(), by=cast.owner.person)


def another_password(cast: Cast, who: Member) -> None:
    elsewhere = Client()
    sign_in(elsewhere, who)
    said = {"submission": uuid4(), "password": PASSWORD, "new_password1": NEW, "new_password2": NEW, "accepts": "on"}
    assert elsewhere.post("/account/password/", said).status_code == 302


def ending_its_session(cast: Cast, who: Member) -> None:
    row, elsewhere = who.account.signed_in.get(), Client()
    sign_in(elsewhere, who)
    assert elsewhere.post(f"/account/sessions/{row.pk}/end/").status_code == 302


def ending_every_other_session(cast: Cast, who: Member) -> None:
    elsewhere = Client()
    sign_in(elsewhere, who)
    elsewhere.post("/account/sessions/end-others/")


def ending_it(cast: Cast, who: Member) -> None:
    elsewhere = Client()
    sign_in(elsewhere, who)
    elsewhere.post(f"/account/pins/{who.account.pins.get().pk}/end/")


def every_session_ends(cast: Cast, who: Member) -> None:
    end_sessions(who.account)


ENDS = [
    a_lost_device,
    leaving,
    another_password,
    ending_its_session,
    ending_every_other_session,
    ending_it,
    every_session_ends,
]


@pytest.mark.parametrize("act", ENDS, ids=lambda act: act.__name__)
def test_what_ends_it(tablet: Client, cast: Cast, act: Any) -> None:
    pin = chosen(tablet, cast.assistant)
    act(cast, cast.assistant)
    assert not Pin.objects.exists() and not come(tablet, pin) and names(tablet) == []


def test_nobody_ends_that_of_somebody_else(tablet: Client, cast: Cast) -> None:
    pin = chosen(tablet, cast.assistant)
    other = Client()
    sign_in(other, cast.owner)
    other.post(f"/account/pins/{pin.pk}/end/")
    assert Pin.objects.filter(pk=pin.pk).exists()


# ---- what is asked after the password


def test_a_second_factor_added_since_is_not_passed_by(tablet: Client, cast: Cast) -> None:
    pin = chosen(tablet, cast.assistant)
    cast.assistant.account.second_factors.create(kind="app", label="phone", secret="x", added_at=MORNING)
    assert not come(tablet, pin) and names(tablet) == []
    Pin.objects.update(second="app that shows codes “phone”")  # as a sign-in by it leaves it
    assert come(tablet, pin) and tablet.session["second_factor"] == "app that shows codes “phone”"


def test_whoever_must_add_a_second_factor_must_do_so_by_pin_too(tablet: Client, cast: Cast, time: Any) -> None:
    pin = chosen(tablet, cast.owner)
    leave(tablet)
    come(tablet, pin)
    by_pin = tablet.session.get("must_add_factor_by")
    sign_in(tablet, cast.owner)
    assert by_pin == tablet.session.get("must_add_factor_by") is not None


@pytest.mark.parametrize("path", ["/account/password/", "/account/factors/codes/", CHOOSE])
def test_nothing_of_an_account_is_changed_by_pin(tablet: Client, cast: Cast, path: str) -> None:
    chosen(tablet, cast.assistant)
    said = {"password": DIGITS, "pin": "730518", "again": "730518", "new_password1": NEW, "new_password2": NEW}
    answer = tablet.post(path, said | {"submission": uuid4(), "accepts": "on"})
    assert answer.status_code == 200 and answer.context["form"].errors["password"]


def test_nobody_signs_in_by_pin_as_if_it_were_the_password(tablet: Client, cast: Cast) -> None:
    chosen(tablet, cast.assistant)
    leave(tablet)
    assert sign_in(tablet, cast.assistant, DIGITS).status_code == 200


# ---- an entry says who did it


def log(tablet: Client, cast: Cast, who: Member, digits: str = "", **more: Any) -> Any:
    now = {"at": "08:00", "drawn_at": "08:00", "day": "3 Mar 2026"}
    said = {
        "submission": uuid4(),
        "done_by": who.person.pk,
        "pin": digits,
        "stood_by": "nobody",
        "note": "Done, and read.",
        **now,
    }
    return tablet.post(f"/millbrook-lane/upkeep/unit/{cast.unit.pk}/log/{cast.task.code}/", said | more)


def entered(cast: Cast) -> list[tuple[Any, Any]]:
    rows = UpkeepEntry.objects.filter(equipment=cast.unit, task=cast.task).order_by("recorded_at")
    return list(rows.values_list("done_by__given_name", "recorded_by__given_name"))[-1:]


@pytest.fixture
def shared(tablet: Client, cast: Cast) -> Client:
    """The assistant is signed in; the supervisor's PIN counts here too."""
    chosen(tablet, cast.supervisor, "730518")
    leave(tablet)
    chosen(tablet, cast.assistant)
    return tablet


def given(who: Member) -> str:
    return who.person.given_name


def test_an_entry_with_the_pin_of_whoever_did_it_is_recorded_by_them(shared: Client, cast: Cast) -> None:
    answer = log(shared, cast, cast.supervisor, "730518")
    assert answer.status_code == 302 and entered(cast) == [(given(cast.supervisor), given(cast.supervisor))]
    assert shared.get(TODAY).context["me"] == cast.assistant.person


def test_without_it_the_entry_says_who_typed_it(shared: Client, cast: Cast) -> None:
    log(shared, cast, cast.supervisor)
    assert entered(cast) == [(given(cast.supervisor), given(cast.assistant))]


def test_a_wrong_one_records_nothing_loses_nothing_and_counts(shared: Client, cast: Cast) -> None:
    before = entered(cast)
    answer = log(shared, cast, cast.supervisor, DIGITS)  # the assistant's own
    assert answer.context["form"].errors["pin"] and answer.context["form"]["note"].value() == "Done, and read."
    assert b"730518" not in answer.content and entered(cast) == before
    assert cast.supervisor.account.pins.get().wrong_today == 1


def test_sent_twice_with_it_is_one_entry(shared: Client, cast: Cast) -> None:
    id = uuid4()
    answers = [log(shared, cast, cast.supervisor, "730518", submission=id) for _ in range(2)]
    assert [each.status_code for each in answers] == [302, 302]
    assert UpkeepEntry.objects.filter(pk=id).count() == 1


def test_whoever_may_not_log_there_does_not_by_pin(shared: Client, cast: Cast) -> None:
    """A PIN says who it is; what they may is asked of the policy as ever."""
    before = entered(cast)
    RoleHeld.objects.filter(person=cast.supervisor.person).update(from_day="2026-04-01")
    answer = log(shared, cast, cast.supervisor, "730518")
    assert answer.context["form"].errors and entered(cast) == before


def test_the_field_is_there_only_where_somebody_elses_counts(tablet: Client, cast: Cast) -> None:
    chosen(tablet, cast.assistant)
    page = f"/millbrook-lane/upkeep/unit/{cast.unit.pk}/log/{cast.task.code}/"
    assert "pin" not in tablet.get(page).context["form"].fields
    leave(tablet)
    chosen(tablet, cast.supervisor, "730518")
    assert str(cast.assistant.person) in tablet.get(page).context["form"].fields["pin"].help_text
