"""What is asked after the password: codes of an app, recovery codes, of whom, and what each leaves in the record.

ASVS 5.0 6.5.1 (a code is good once), 6.5.2 (112 bits of a recovery code), 7.5.1 (the password again before a change), read in
copies of its text. Whom it is asked of and the fourteen days are our own design, D.
"""

import logging
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pyotp
import pytest
from django.core import mail
from django.test import Client

from clinic import clock, factor_check, factors, guessing
from clinic.actions.factors import MOST, add_app, new_codes, remove
from clinic.actions.recovery import ask_recovery, confirm_recovery
from clinic.factors import CODES, app_of, codes_left, living, new_secret, take_recovery_code
from clinic.models import Account, FactorChange, Person, RecoveryCode, Seal, SecondFactor
from clinic.record import NotAllowed, Refused, record
from tests.cast import PASSWORD, Cast, Member, appoint
from tests.one_time_codes import code_of

pytestmark = pytest.mark.django_db
TODAY, ACCOUNT, SECOND = "/millbrook-lane/today/", "/account/", "/sign-in/second/"
WRONG = "That is not right, or it was used before."


class Phone:
    """An app on a phone, and the recovery codes that came with it."""

    def __init__(self, who: Member, label: str = "phone", steps: int = -1) -> None:
        """It was added with the code of the step before: the one shown now is still good."""
        self.secret = new_secret()
        self.codes = add_app(who.account, label, self.secret, code_of(self.secret, steps), id=uuid4())

    def shows(self, steps: int = 0) -> str:
        return code_of(self.secret, steps)


@pytest.fixture
def phone(cast: Cast) -> Phone:
    return Phone(cast.owner)


def password(who: Member, client: Client | None = None, given: str = PASSWORD, **more: Any) -> tuple[Client, Any]:
    client = client or Client()
    sent = {"username": who.account.sign_in_name, "password": given}
    return client, client.post("/sign-in/", sent, **more)


def waits(who: Member) -> Client:
    """Somebody whose password was right."""
    client, answer = password(who)
    assert answer.url == SECOND
    return client


def proves(client: Client, code: str) -> int:
    return client.post(SECOND, {"code": code}).status_code


def is_in(client: Client) -> bool:
    return client.get(TODAY).status_code == 200


# Signing in.


def test_the_password_alone_opens_nothing(cast: Cast, phone: Phone) -> None:
    client = waits(cast.owner)
    assert not is_in(client) and client.get("/").url == "/sign-in/" and client.get(ACCOUNT).status_code == 302


def test_the_code_that_the_app_shows_opens_the_session(cast: Cast, phone: Phone) -> None:
    client = waits(cast.owner)
    assert proves(client, phone.shows()) == 302 and is_in(client)


@pytest.mark.parametrize("steps", [-1, 0, 1])
def test_a_clock_may_be_off_by_one_step(cast: Cast, steps: int) -> None:
    phone = Phone(cast.owner, steps=-1)
    SecondFactor.objects.update(counter=0)
    client = waits(cast.owner)
    assert proves(client, phone.shows(steps)) == 302


def test_a_code_is_never_taken_twice(cast: Cast, phone: Phone) -> None:
    shown = phone.shows()
    assert proves(waits(cast.owner), shown) == 302
    second = waits(cast.owner)
    assert WRONG in second.post(SECOND, {"code": shown}).content.decode() and not is_in(second)


def test_no_code_before_the_last_one_taken_is_taken(cast: Cast, phone: Phone) -> None:
    before = phone.shows()
    assert app_of(cast.owner.account, phone.shows(1)) is not None
    assert app_of(cast.owner.account, before) is None


def test_the_code_by_which_an_app_was_added_signs_nobody_in(cast: Cast) -> None:
    phone = Phone(cast.owner, steps=0)
    assert proves(waits(cast.owner), phone.shows()) == 200


def test_a_code_is_typed_with_or_without_a_space(cast: Cast, phone: Phone) -> None:
    shown = phone.shows()
    assert proves(waits(cast.owner), f" {shown[:3]} {shown[3:]} ") == 302


def test_wrong_used_and_misshapen_codes_are_answered_the_same(cast: Cast, phone: Phone) -> None:
    used = phone.shows()
    proves(waits(cast.owner), used)
    guessing.TryCount.objects.all().delete()
    client = waits(cast.owner)
    said = {client.post(SECOND, {"code": code}).context["form"].non_field_errors()[0] for code in (used, "000000", "x")}
    assert len(said) == 1 and WRONG in said.pop()


def test_every_code_is_held_against_apps_and_recovery_codes_alike(
    cast: Cast, phone: Phone, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same time for each: neither is left out where the other fits."""
    looked: list[str] = []
    monkeypatch.setattr("clinic.views.second_factor.app_of", lambda account, code: looked.append("app"))
    monkeypatch.setattr("clinic.views.second_factor.use_code", lambda account, code: looked.append("codes"))
    for code in (phone.shows(), "000000", phone.codes[0]):
        proves(waits(cast.owner), code)
    assert looked == ["app", "codes"] * 3


def test_somebody_without_one_signs_in_by_password(cast: Cast) -> None:
    client, answer = password(cast.assistant)
    assert answer.url == "/" and is_in(client)


def test_whoever_waits_for_ten_minutes_begins_again(cast: Cast, phone: Phone) -> None:
    client, start = waits(cast.owner), clock.now()
    with clock.standing_at(start + timedelta(minutes=10, seconds=1)):
        assert client.post(SECOND, {"code": phone.shows()}).url == "/sign-in/"


def test_what_waits_is_over_with_another_password(cast: Cast, phone: Phone) -> None:
    client = waits(cast.owner)
    account = Account.objects.get(pk=cast.owner.account.pk)
    account.set_password("nine lanterns by the quay")
    account.save()
    assert client.post(SECOND, {"code": phone.shows()}).url == "/sign-in/" and not is_in(client)


def test_nobody_comes_to_the_second_step_without_the_first(cast: Cast, phone: Phone) -> None:
    assert Client().post(SECOND, {"code": phone.shows()}).url == "/sign-in/"


def test_the_page_one_wanted_opens_after_both(cast: Cast, phone: Phone) -> None:
    client = Client()
    sent = {"username": cast.owner.account.sign_in_name, "password": PASSWORD}
    client.post("/sign-in/?next=/account/", sent)
    assert client.post(SECOND, {"code": phone.shows()}).url == ACCOUNT


def test_another_persons_code_opens_nothing(cast: Cast, phone: Phone) -> None:
    other = Phone(cast.coordinator)
    assert proves(waits(cast.owner), other.shows()) == 200 and proves(waits(cast.owner), other.codes[0]) == 200


def test_where_the_secret_of_the_register_is_another_codes_prove_nothing(
    cast: Cast, phone: Phone, settings: Any, caplog: pytest.LogCaptureFixture
) -> None:
    settings.SECRET_KEY = "another secret of the register, long enough"
    assert app_of(cast.owner.account, phone.shows()) is None
    assert "MILLROOM_SECRET is not what it was" in caplog.text


def test_the_secret_does_not_lie_open_in_the_database(cast: Cast, phone: Phone) -> None:
    assert phone.secret not in SecondFactor.objects.get().secret


# Unlocking does not ask it again.


def test_who_unlocks_their_own_session_is_asked_for_the_password_only(cast: Cast, phone: Phone) -> None:
    client, start = waits(cast.owner), clock.now()
    proves(client, phone.shows())
    key = client.session.session_key
    with clock.standing_at(start + timedelta(minutes=6)):
        assert client.get(TODAY).url.startswith("/unlock/")
        sent = {"username": cast.owner.account.sign_in_name, "password": PASSWORD}
        assert client.post("/unlock/?next=/account/", sent).url == ACCOUNT
        assert is_in(client) and "app that shows codes “phone”" in client.get(ACCOUNT).content.decode()
    assert client.session.session_key != key


def test_somebody_else_at_a_locked_tablet_is_asked_for_theirs(cast: Cast, phone: Phone) -> None:
    client, start = password(cast.assistant)[0], clock.now()
    client.get(TODAY)
    with clock.standing_at(start + timedelta(minutes=6)):
        sent = {"username": cast.owner.account.sign_in_name, "password": PASSWORD}
        assert client.post("/unlock/", sent).url == SECOND
        assert client.get(TODAY).url.startswith("/unlock/") and b"Wren" not in client.get(SECOND).content
        assert proves(client, phone.shows()) == 302
        assert "Hester Vane" in client.get(ACCOUNT).content.decode()


# Guessing.


def test_five_wrong_codes_pause_however_often_the_password_is_typed_between(cast: Cast, phone: Phone) -> None:
    answers = []
    for _ in range(7):
        client = waits(cast.owner)
        answers.append(proves(client, "000000"))
    assert answers == [200] * 5 + [429] * 2
    assert proves(client, phone.shows()) == 429
    with clock.standing_at(clock.now() + timedelta(minutes=16)):
        assert proves(waits(cast.owner), phone.shows()) == 302


def test_a_name_stands_a_hundred_wrong_codes_at_most(cast: Cast) -> None:
    """A-05, NIST SP 800-63B-4 3.2.2."""
    start, name, looked_at = clock.now(), cast.owner.account.sign_in_name, 0
    for n in range(120):
        with clock.standing_at(start + timedelta(seconds=n)):
            looked_at += guessing.charge(guessing.to_prove_second(name, guessing.TryOrigin(f"198.51.100.{n}")))
    assert looked_at == guessing.FROM_ANYWHERE < 100


def test_the_log_says_who_tried_from_where_and_no_code(
    cast: Cast, phone: Phone, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.WARNING):
        proves(waits(cast.owner), "123456")
    assert "A wrong second factor for 'hester.vane' from 127.0.0.1." in caplog.text and "123456" not in caplog.text


# Recovery codes.


def test_the_first_factor_comes_with_ten_codes_of_118_bits_and_the_next_with_none(cast: Cast, phone: Phone) -> None:
    assert len(set(phone.codes)) == CODES == codes_left(cast.owner.account)
    assert {len(code.replace("-", "")) for code in phone.codes} == {24} and 31**24 > 2**112
    assert Phone(cast.owner, "tablet").codes == []


def test_a_recovery_code_opens_once_and_leaves_a_sealed_fact(cast: Cast, phone: Phone) -> None:
    client = waits(cast.owner)
    assert proves(client, phone.codes[0].upper().replace("-", " ")) == 302 and is_in(client)
    assert proves(waits(cast.owner), phone.codes[0]) == 200
    fact = FactorChange.objects.get(what="code used")
    assert fact.recorded_by == cast.owner.person and Seal.objects.filter(fact=fact.pk).exists()
    assert codes_left(cast.owner.account) == CODES - 1


def test_only_digests_of_recovery_codes_are_kept(cast: Cast, phone: Phone) -> None:
    kept = set(RecoveryCode.objects.values_list("digest", flat=True))
    assert kept == {factors.digest_of(code) for code in phone.codes} and not kept & set(phone.codes)


def test_a_recovery_code_sent_twice_at_once_is_taken_once(cast: Cast, phone: Phone) -> None:
    assert [take_recovery_code(cast.owner.account, phone.codes[0]) for _ in range(2)] == [True, False]


def test_new_codes_end_the_old_ones(cast: Cast, phone: Phone) -> None:
    new = new_codes(cast.owner.account)
    assert proves(waits(cast.owner), phone.codes[0]) == 200 and proves(waits(cast.owner), new[0]) == 302


def test_there_are_no_codes_without_a_factor(cast: Cast) -> None:
    with pytest.raises(Refused, match="you have none"):
        new_codes(cast.owner.account)


# Adding and removing, on the pages.


def added_by_page(
    client: Client, given: str = PASSWORD, label: str = "phone", **more: Any
) -> tuple[str, Any, dict[str, Any]]:
    secret = client.get("/account/factors/app/").context["secret"]
    sent = {"submission": uuid4(), "label": label, "code": code_of(secret), "password": given} | more
    return secret, client.post("/account/factors/app/", sent), sent


def test_an_app_is_added_with_its_code_and_the_password(cast: Cast, signed_in: Any) -> None:
    client = signed_in(cast.owner)
    secret, answer, _ = added_by_page(client)
    codes = answer.context["codes"]
    assert len(codes) == CODES and all(code in answer.content.decode() for code in codes)
    assert proves(waits(cast.owner), code_of(secret, 1)) == 302


def test_the_square_says_what_apps_read(cast: Cast, signed_in: Any) -> None:
    shown = signed_in(cast.owner).get("/account/factors/app/")
    assert pyotp.parse_uri(shown.context["letter"]).secret == shown.context["secret"]
    assert '<svg role="img"' in shown.content.decode() and "style=" not in shown.content.decode()


def test_nothing_is_added_without_the_password(cast: Cast, signed_in: Any) -> None:
    _, answer, _ = added_by_page(signed_in(cast.owner), "not my password at all")
    assert "not your password" in answer.content.decode() and not SecondFactor.objects.exists()


def test_a_wrong_password_keeps_what_was_typed_and_the_square(cast: Cast, signed_in: Any) -> None:
    secret, answer, _ = added_by_page(signed_in(cast.owner), "not my password at all", label="my old phone")
    assert answer.context["secret"] == secret and "my old phone" in answer.content.decode()


def test_nothing_is_added_without_a_right_code(cast: Cast, signed_in: Any) -> None:
    _, answer, _ = added_by_page(signed_in(cast.owner), code="000000")
    assert "shows another code" in answer.content.decode() and not SecondFactor.objects.exists()


def test_a_form_sent_twice_adds_one(cast: Cast, signed_in: Any) -> None:
    client = signed_in(cast.owner)
    _, _, sent = added_by_page(client)
    assert client.post("/account/factors/app/", sent).url == ACCOUNT
    assert living(cast.owner.account).count() == 1 == FactorChange.objects.filter(what="added").count()


def test_the_secret_is_not_shown_again(cast: Cast, signed_in: Any) -> None:
    client = signed_in(cast.owner)
    secret = added_by_page(client)[0]
    assert all(secret not in client.get(page).content.decode() for page in (ACCOUNT, "/account/factors/app/"))


def test_two_of_one_name_and_an_eleventh_are_refused(cast: Cast) -> None:
    Phone(cast.owner, "phone 0")
    with pytest.raises(Refused, match="one of that name"):
        Phone(cast.owner, "Phone 0")
    for n in range(1, MOST):
        Phone(cast.owner, f"phone {n}")
    with pytest.raises(Refused, match="10 already"):
        Phone(cast.owner, "one more")


def removal(row: SecondFactor) -> str:
    return f"/account/factors/{row.pk}/remove/"


def test_one_is_removed_with_the_password_and_it_leaves_a_sealed_fact(cast: Cast, signed_in: Any) -> None:
    Phone(cast.assistant)
    row, client = living(cast.assistant.account).get(), signed_in(cast.assistant)
    client.post(removal(row), {"submission": uuid4(), "password": "not my password at all"})
    assert living(cast.assistant.account).exists()
    client.post(removal(row), {"submission": uuid4(), "password": PASSWORD})
    fact = FactorChange.objects.get(what="removed")
    assert (fact.factor, Seal.objects.filter(fact=fact.pk).count()) == (row.pk, 1)
    assert codes_left(cast.assistant.account) == 0 and password(cast.assistant)[1].url == "/"
    assert client.post(removal(row), {"submission": uuid4(), "password": PASSWORD}).url == "/account/"
    assert FactorChange.objects.filter(what="removed").count() == 1


def test_the_last_one_stays_where_a_post_needs_it(cast: Cast, phone: Phone) -> None:
    with pytest.raises(Refused, match="this is the last one"):
        remove(living(cast.owner.account).get())
    Phone(cast.owner, "new phone")
    remove(living(cast.owner.account).get(label="phone"))
    assert [row.label for row in living(cast.owner.account)] == ["new phone"]


def test_nobody_removes_somebody_elses(cast: Cast, phone: Phone, signed_in: Any) -> None:
    row = living(cast.owner.account).get()
    for who in (cast.coordinator, cast.assistant):
        sent = {"submission": uuid4(), "password": PASSWORD}
        assert signed_in(who).post(removal(row), sent).status_code == 404
    fact = FactorChange(site=cast.lane, happened_on=clock.today("UTC"), person=cast.owner.person, what="removed")
    with pytest.raises(NotAllowed, match="Only whose account it is"):
        record(fact, by=cast.coordinator.person)


def test_each_change_is_mailed_to_the_owner_of_the_account(cast: Cast, settings: Any) -> None:
    settings.EMAIL_HOST = "mail.example"
    Person.objects.filter(pk=cast.owner.person.pk).update(email="hester@example.org")
    phone = Phone(Member(Person.objects.get(pk=cast.owner.person.pk), Account.objects.get(pk=cast.owner.account.pk)))
    proves(waits(cast.owner), phone.codes[0])
    bodies = [each.body for each in mail.outbox]
    assert [each.to for each in mail.outbox] == [["hester@example.org"]] * 3
    assert "“phone” added" in bodies[0] and "9 recovery codes are left" in bodies[2]
    assert not any(secret in body for body in bodies for secret in (phone.secret, *phone.codes))


# Of whom it is asked.


def opened_days_ago(who: Member, days: int) -> None:
    """The account is that old; the posts of the cast are older."""
    since = datetime.now(UTC) - timedelta(days=days)
    Account.objects.filter(pk=who.account.pk).update(created_at=since)


@pytest.mark.parametrize(("days", "is_open"), [(0, True), (14, True), (15, False)])
def test_a_post_that_needs_one_gives_fourteen_days(cast: Cast, days: int, is_open: bool) -> None:
    opened_days_ago(cast.coordinator, days)
    client = password(cast.coordinator)[0]
    assert is_in(client) == is_open
    assert ("Add it now" in client.get(TODAY, follow=True).content.decode()) == is_open or not is_open


def test_every_page_says_the_day_until_it_is_added(cast: Cast) -> None:
    client = password(cast.owner)[0]
    last = clock.today("Europe/London") + timedelta(days=14)
    pages = (TODAY, "/millbrook-lane/people/", "/millbrook-lane/upkeep/", ACCOUNT)
    assert all(f"{last:%-d %B %Y}" in client.get(page).content.decode() for page in pages)
    added_by_page(client)
    assert not any("Add it now" in client.get(page).content.decode() for page in pages)


def test_after_the_day_the_sign_in_leads_to_adding_one_and_to_nothing_else(cast: Cast) -> None:
    opened_days_ago(cast.owner, 15)
    client = password(cast.owner)[0]
    for page in ("/", TODAY, "/millbrook-lane/people/roster/", "/nothing/there/"):
        assert client.get(page).url == ACCOUNT
    assert client.post("/millbrook-lane/upkeep/events/near-miss/", {}).url == ACCOUNT
    added_by_page(client)
    assert is_in(client)


def test_added_in_another_session_it_opens_this_one_too(cast: Cast) -> None:
    opened_days_ago(cast.owner, 15)
    client = password(cast.owner)[0]
    assert not is_in(client)
    Phone(cast.owner)
    assert is_in(client)


def test_a_day_that_passes_while_signed_in_is_over_too(cast: Cast) -> None:
    opened_days_ago(cast.owner, 14)
    client, start = password(cast.owner)[0], clock.now()
    assert is_in(client)
    Account.objects.filter(pk=cast.owner.account.pk).update(created_at=start - timedelta(days=15))
    session = client.session
    session[factors.MUST_ADD_BY] = (clock.today("Europe/London") - timedelta(days=1)).isoformat()
    session.save()
    assert client.get(TODAY).url == ACCOUNT


@pytest.mark.parametrize(("who", "is_asked"), [("owner", True), ("coordinator", True), ("officer", True), ("supervisor", False), ("assistant", False), ("inspector", False)])  # fmt: skip
def test_it_is_asked_of_owners_coordinators_and_safety_officers(cast: Cast, who: str, is_asked: bool) -> None:
    if who == "officer":
        appoint(cast.second, "safety officer", None, cast.lane)
    member = cast.second if who == "officer" else getattr(cast, who)
    assert (factors.without_until(member.account) is not None) == is_asked


# Lost.


def lost(cast: Cast, who: Member, by: Member, **more: Any) -> str:
    asked = ask_recovery(who.person, by=cast.coordinator.person, how="She stood before me.", **more)
    given = {"way": "slip", "proved": "sign-in name and password", "address": "/invitation/{code}/"}
    return confirm_recovery(asked, by=by.person, **given)


def choose(code: str) -> tuple[Client, Any]:
    client, new = Client(), "nine lanterns by the quay"
    return client, client.post(f"/invitation/{code}/", {"new_password1": new, "new_password2": new, "accepts": "on"})


def test_a_recovery_that_says_the_factor_is_lost_ends_it(cast: Cast) -> None:
    phone = Phone(cast.assistant)
    client, answer = choose(lost(cast, cast.assistant, cast.owner, factor_lost=True))
    assert answer.url == "/" and is_in(client)
    assert not living(cast.assistant.account).exists() and codes_left(cast.assistant.account) == 0
    fact = FactorChange.objects.get(what="removed")
    assert fact.reason and fact.recorded_by == cast.assistant.person
    assert not take_recovery_code(cast.assistant.account, phone.codes[0])


def test_any_other_recovery_asks_for_it_still(cast: Cast) -> None:
    phone = Phone(cast.assistant)
    client, answer = choose(lost(cast, cast.assistant, cast.owner))
    assert answer.url == SECOND and not is_in(client)
    assert proves(client, phone.shows()) == 302 and is_in(client)


def test_whoever_lost_it_and_needs_one_is_led_to_adding_another(cast: Cast, phone: Phone) -> None:
    opened_days_ago(cast.owner, 400)
    appoint(cast.second, "owner", None, cast.lane)
    client, _ = choose(lost(cast, cast.owner, cast.second, factor_lost=True))
    assert client.get(TODAY).url == ACCOUNT


# The check of the record.


def breaks() -> list[str]:
    return [each.says for each in factor_check.strange_factors()]


def test_factors_that_were_added_and_removed_openly_are_whole(cast: Cast, phone: Phone) -> None:
    Phone(cast.owner, "new phone")
    remove(living(cast.owner.account).get(label="phone"))
    assert breaks() == []


def test_a_factor_that_nobody_added_is_found(cast: Cast, phone: Phone) -> None:
    row = SecondFactor.objects.get()
    row.pk, row.label = uuid4(), "theirs"
    row.save(force_insert=True)
    assert breaks() == ["nobody added the second factor “theirs” of hester.vane"]


@pytest.mark.parametrize(
    ("edit", "says"),
    [
        ({"secret": factors.lock_up(new_secret())}, "the secret of “phone” of hester.vane was exchanged"),
        ({"label": "theirs"}, "the second factor “theirs” of hester.vane is not what was added"),
        ({"ended_at": datetime(2026, 1, 1, tzinfo=UTC)}, "“phone” of hester.vane ended unseen"),
    ],
)
def test_a_factor_that_was_exchanged_or_ended_unseen_is_found(
    cast: Cast, phone: Phone, edit: dict[str, Any], says: str
) -> None:
    SecondFactor.objects.update(**edit)
    assert breaks() == [says]


def test_a_factor_that_is_gone_or_back_again_is_found(cast: Cast, phone: Phone) -> None:
    Phone(cast.owner, "new phone")
    remove(living(cast.owner.account).get(label="phone"))
    SecondFactor.objects.filter(label="phone").update(ended_at=None)
    SecondFactor.objects.filter(label="new phone").delete()
    assert sorted(breaks()) == [
        "the second factor “new phone” is gone without a trace",
        "“phone” of hester.vane is asked for though it was removed",
    ]
