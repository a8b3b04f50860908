"""Signing, renewing, withdrawing and taking back: who may, what is recorded, every refusal."""

from datetime import date, time
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from clinic.models import Account, OutsideWitness, SigningAttempt, Voiding
from clinic.record import Refused, record, void
from tests.cast import PASSWORD, Member
from tests.training.bench import MISSED, START, Bench, at, proof, proved
from training.actions.grants import found, grant_authority
from training.models import (
    EvidenceSpan,
    FoundingGrant,
    KnowledgeResult,
    Observation,
    Signature,
    SignOff,
    StandingSpan,
    Withdrawal,
)
from training.spans import differences

pytestmark = pytest.mark.django_db


@pytest.fixture
def client(bench: Bench, signed_in: Any) -> Client:
    return signed_in(bench.cast.supervisor)


@pytest.fixture
def ready(bench: Bench) -> Bench:
    bench.seen(4)
    bench.seen(5)
    return bench


def address(bench: Bench, name: str = "sign", person: Member | None = None) -> str:
    who = (person or bench.cast.assistant).person
    return reverse(f"training:{name}", args=["millbrook-lane", who.pk, "P06"])


def sign(client: Client, bench: Bench, signer: Member, **more: Any) -> Any:
    """Open the page, and send it back filled in."""
    page = client.get(address(bench))
    words = page.context["page"].statement
    return client.post(address(bench), {"submission": uuid4(), "statement": words} | proof(signer) | more)


def errors(answer: Any) -> str:
    return " ".join(words for found in answer.context["form"].errors.values() for words in found)


def test_ready_evidence_is_signed_in_the_very_words_of_the_page(ready: Bench, client: Client) -> None:
    with at(6):
        answer = sign(client, ready, ready.cast.supervisor)
    row = SignOff.objects.get()
    assert answer.url == f"/millbrook-lane/signed/{row.pk}/"
    assert row.statement.startswith("Wren Adeyemi may do Chamber cleaning (P06) at Millbrook Lane without supervision")


def test_the_page_says_what_it_rests_on_and_the_six_elements(ready: Bench, client: Client) -> None:
    with at(6):
        page = client.get(address(ready)).content.decode()
    assert "Assessment met on 4 February 2025: real work, unit 1, watched by Ines Pellow." in page
    assert "2 assessments watched" in page and "does not apply to milling" in page


def test_every_missing_piece_is_named_at_once(bench: Bench, client: Client) -> None:
    with at(6):
        page = client.get(address(bench)).content.decode()
    assert "It cannot be signed yet: 4 pieces are missing." in page
    assert "Two more assessments" in page and "Two more different days" in page


def test_what_is_missing_leads_whoever_may_to_where_it_is_supplied(bench: Bench, signed_in: Any) -> None:
    watch = f"{reverse('training:observe_start', args=['millbrook-lane'])}?person={bench.cast.assistant.person.pk}&amp;procedure=P06"
    with at(6):
        pages = {
            who: signed_in(getattr(bench.cast, who)).get(address(bench)).content.decode()
            for who in ("supervisor", "assistant")
        }
    assert {who: f'href="{watch}">Observe P06 now</a>' in page for who, page in pages.items()} == {
        "supervisor": True,
        "assistant": False,
    }


def test_whoever_cannot_sign_is_led_to_their_own_standing(ready: Bench, signed_in: Any) -> None:
    own = reverse("training:person_procedure", args=["millbrook-lane", ready.cast.coordinator.person.pk, "P06"])
    with at(3, 9):
        grant_authority(
            ready.cast.coordinator.person, ready.cast.lane, START, None, by=ready.cast.owner.person, procedures=["P06"]
        )
    with at(6):
        page = signed_in(ready.cast.coordinator).get(address(ready)).content.decode()
    assert f'href="{own}">See your own P06</a>' in page and "Who has authority here" not in page


def test_nothing_is_signed_while_a_piece_is_missing(bench: Bench, client: Client) -> None:
    bench.seen(4)
    with at(6):
        sign(client, bench, bench.cast.supervisor)
    assert not SignOff.objects.exists()


def test_nobody_signs_for_oneself(ready: Bench, signed_in: Any) -> None:
    with at(6):
        answer = sign(signed_in(ready.cast.assistant), ready, ready.cast.assistant)
    assert "Nobody signs for themselves." in errors(answer)
    assert not SignOff.objects.exists()


def test_the_tablet_may_be_the_learners_and_the_supervisor_signs_on_it(ready: Bench, signed_in: Any) -> None:
    with at(6):
        sign(signed_in(ready.cast.assistant), ready, ready.cast.supervisor)
    assert SignOff.objects.get().signer == ready.cast.supervisor.person


def test_without_authority_nobody_signs(ready: Bench, signed_in: Any) -> None:
    with at(6):
        answer = sign(signed_in(ready.cast.coordinator), ready, ready.cast.coordinator)
    assert "You have no authority" in errors(answer)


def test_a_wrong_password_signs_nothing_and_keeps_the_name(ready: Bench, client: Client) -> None:
    with at(6):
        answer = sign(client, ready, ready.cast.supervisor, password="not this one at all")
    page = answer.content.decode()
    assert "Name and password do not belong together. Nothing was signed." in page
    assert 'value="ines.pellow"' in page and "not this one at all" not in page
    assert not SignOff.objects.exists()


def test_five_wrong_passwords_shut_signing_for_a_quarter_of_an_hour(ready: Bench, client: Client) -> None:
    with at(6):
        for _ in range(5):
            sign(client, ready, ready.cast.supervisor, password="not this one at all")
        answer = sign(client, ready, ready.cast.supervisor)
    assert "Too many wrong passwords" in errors(answer)
    assert SigningAttempt.objects.filter(succeeded=False).count() == 5


def test_a_signature_whose_answer_was_lost_is_shown_when_it_is_sent_again(ready: Bench, client: Client) -> None:
    """Once signed there is nothing to sign: the second sending read “it cannot be signed yet”. With nothing but its number
    it finds what was signed, and signs nothing."""
    with at(6):
        words = client.get(address(ready)).context["page"].statement
        sent = {"submission": str(uuid4()), "statement": words} | proof(ready.cast.supervisor)
        first, again = (client.post(address(ready), sent) for _ in range(2))
        bare = client.post(address(ready), {"submission": sent["submission"]})
    assert (first.url, again.url, bare.url) == (f"/millbrook-lane/signed/{sent['submission']}/",) * 3
    assert SignOff.objects.count() == 1


def test_the_same_page_sent_twice_signs_once(ready: Bench, client: Client) -> None:
    once = {"submission": uuid4()}
    with at(6):
        words = client.get(address(ready)).context["page"].statement
        form = once | {"statement": words} | proof(ready.cast.supervisor)
        first, second = (client.post(address(ready), form) for _ in range(2))
    assert SignOff.objects.count() == 1
    assert first.url == f"/millbrook-lane/signed/{SignOff.objects.get().pk}/"
    assert second.status_code in (200, 302)


def test_words_that_changed_since_the_page_was_opened_are_not_signed(ready: Bench, client: Client) -> None:
    with at(6):
        answer = sign(client, ready, ready.cast.supervisor, statement="Wren may do anything.")
    assert "changed since this page was opened" in errors(answer)


def test_a_critical_miss_after_the_evidence_asks_for_it_anew(ready: Bench, client: Client) -> None:
    ready.seen(6, MISSED)
    with at(6):
        assert "It cannot be signed yet" in client.get(address(ready)).content.decode()


def test_a_renewal_is_the_same_page(bench: Bench, client: Client) -> None:
    bench.signed()
    bench.seen(10)
    with at(11):
        assert "It can be renewed now." in client.get(address(bench)).content.decode()


def test_somebody_of_another_site_is_not_there(ready: Bench, client: Client) -> None:
    with at(6):
        assert client.get(address(ready, person=ready.cast.elsewhere)).status_code == 404


def test_a_procedure_that_does_not_exist_is_not_there(ready: Bench, client: Client) -> None:
    with at(6):
        assert client.get(address(ready).replace("P06", "P99")).status_code == 404


def withdraw(client: Client, bench: Bench, **more: Any) -> Any:
    form = {"submission": uuid4(), "reason": "Reached in while it ran down."} | proof(bench.cast.supervisor) | more
    return client.post(address(bench, "withdraw"), form)


def test_a_withdrawal_ends_working_alone_that_day(bench: Bench, client: Client) -> None:
    bench.signed()
    with at(7):
        withdraw(client, bench)
    span = StandingSpan.objects.get(person=bench.cast.assistant.person, after=None)
    assert (span.state, span.first.isoformat()) == ("withdrawn", "2025-02-07")
    row = Withdrawal.objects.get()
    assert row.reason == "Reached in while it ran down."
    assert Signature.objects.get(signs=row.pk).reidentified == "sign-in name and password"


def test_a_withdrawal_sent_again_a_minute_later_is_the_first(bench: Bench, client: Client) -> None:
    """It was refused as “recorded with other content”, for its time of day."""
    bench.signed()
    number, answers = uuid4(), []
    for hour in (12, 13):
        with at(7, hour):
            client.cookies.clear()
            client.force_login(bench.cast.supervisor.account, backend="clinic.accounts.AtWork")
            answers.append(withdraw(client, bench, submission=number).status_code)
    assert (answers, Withdrawal.objects.count(), Signature.objects.filter(signs=number).count()) == ([302, 302], 1, 1)


def test_a_withdrawal_needs_its_reason(bench: Bench, client: Client) -> None:
    bench.signed()
    with at(7):
        assert "Say why" in errors(withdraw(client, bench, reason=""))


def test_a_withdrawal_needs_the_password_and_keeps_the_reason(bench: Bench, client: Client) -> None:
    bench.signed()
    with at(7):
        answer = withdraw(client, bench, password="not this one at all")
    assert "Reached in while it ran down." in answer.content.decode()
    assert not Withdrawal.objects.exists()


def take_back(client: Client, row: Any, **form: Any) -> Any:
    me = {"sign_in_name": Account.objects.get(pk=client.session["_auth_user_id"]).sign_in_name, "password": PASSWORD}
    form = {"submission": uuid4()} | me | form
    return client.post(reverse("training:take_back", args=["millbrook-lane", row.pk]), form)


def test_what_one_recorded_oneself_is_taken_back_with_a_reason(bench: Bench, client: Client) -> None:
    row = bench.seen(4)
    with at(5):
        take_back(client, row, reason="Wrong person.")
    assert not Observation.objects.live().exists()
    assert Voiding.objects.get().corrects == row.pk


def test_a_record_taken_back_carries_a_signature_that_names_it(bench: Bench, client: Client) -> None:
    """E-13, E-15, E-19: printed name, time and meaning, bound to the fact, proved by name and password (21 CFR 11.50,
    11.70, 11.200, V; a benchmark here, not an FDA record)."""
    row = bench.seen(4)
    with at(5):
        take_back(client, row, reason="Wrong person.")
        later = Voiding.objects.get()
        page = client.get(reverse("training:fact", args=["millbrook-lane", later.pk])).content.decode()
    signature = Signature.objects.get(signs=later.pk)
    assert signature.reidentified == ("sign-in name and password")
    assert bench.cast.supervisor.person.printed_name in page and "for the reason given" in page


def test_a_session_alone_takes_nothing_back_and_keeps_the_reason(bench: Bench, client: Client) -> None:
    """E-19: sign-in name and password; being signed in is not enough (21 CFR 11.200(a)(1), V)."""
    row = bench.seen(4)
    with at(5):
        answer = take_back(client, row, reason="Wrong person.", password="")
    assert "being signed in is not enough" in errors(answer) and "Wrong person." in answer.content.decode()
    assert Observation.objects.live().exists()


def test_nobody_signs_a_correction_for_whoever_opened_it(bench: Bench, client: Client) -> None:
    row = bench.seen(4)
    with at(5):
        answer = take_back(client, row, reason="Wrong person.", **proof(bench.cast.second))
    assert "opened this page" in errors(answer) and not Voiding.objects.exists()


def test_sent_twice_it_is_taken_back_and_signed_once(bench: Bench, client: Client) -> None:
    row, once = bench.seen(4), uuid4()
    with at(5):
        answers = [take_back(client, row, reason="Wrong person.", submission=once).status_code for _ in range(2)]
    assert answers == [302, 302] and Voiding.objects.count() == 1
    assert Signature.objects.filter(signs=Voiding.objects.get().pk).count() == 1


def test_what_is_recorded_about_oneself_is_not_taken_back_by_oneself(bench: Bench, client: Client) -> None:
    person = bench.cast.supervisor.person
    with at(5):
        known = {"site": bench.cast.lane, "happened_on": START, "version": bench.version, "person": person}
        tried = KnowledgeResult(passed=False, asked=[], answers={}, language="en-GB", **known)
        assert take_back(client, record(tried, by=person), reason="It went badly.").status_code == 403


def test_taking_back_needs_its_reason(bench: Bench, client: Client) -> None:
    with at(5):
        assert "Say in a few words" in errors(take_back(client, bench.seen(4), reason=""))


def test_a_learner_takes_nothing_back(bench: Bench, signed_in: Any) -> None:
    row = bench.seen(4)
    with at(5):
        assert take_back(signed_in(bench.cast.assistant), row, reason="I want to.").status_code == 403


def test_a_version_is_never_taken_back(bench: Bench, signed_in: Any) -> None:
    with at(5):
        assert take_back(signed_in(bench.cast.owner), bench.version, reason="No.").status_code == 403


def test_what_was_taken_back_is_not_taken_back_again(bench: Bench, client: Client) -> None:
    row = bench.seen(4)
    with at(5):
        take_back(client, row, reason="Wrong person.")
        assert "already corrected" in errors(take_back(client, row, reason="Again."))


def test_a_fact_of_another_site_is_not_there(bench: Bench, signed_in: Any) -> None:
    row = bench.seen(4)
    with at(5):
        url = reverse("training:take_back", args=["sandbar-court", row.pk])
        assert signed_in(bench.cast.elsewhere).get(url).status_code == 404


@pytest.fixture
def watcher(bench: Bench) -> Member:
    """Bram has authority for the procedure, and never showed that he can do it."""
    with at(3, 9):
        grant_authority(
            bench.cast.coordinator.person, bench.cast.lane, START, None, by=bench.cast.owner.person, procedures=["P06"]
        )
    return bench.cast.coordinator


def evidence_on_the_6th(bench: Bench) -> str:
    found = EvidenceSpan.objects.on(date(2025, 2, 6)).filter(person=bench.cast.assistant.person).first()
    return found.evidence if found else "none"


def test_what_somebody_not_usable_watched_is_said_by_name_and_day_and_not_counted(
    bench: Bench, watcher: Member, client: Client
) -> None:
    bench.seen(4)
    bench.seen(5, observer=watcher.person)
    with at(6):
        page = client.get(address(bench)).content.decode()
    assert "The assessment of 5 February 2025 does not count: Bram Okafor, who watched it, could not work alone" in page
    assert "It cannot be signed yet" in page and evidence_on_the_6th(bench) == "some"
    assert differences(bench.cast.organisation) == []


def test_a_reason_given_with_the_authority_lets_it_count(bench: Bench, watcher: Member) -> None:
    with at(3, 10):
        grant_authority(
            watcher.person, bench.cast.lane, START, None, by=bench.cast.owner.person, procedures=["P06"],
            counts_because="He taught the course for ten years.",
        )  # fmt: skip
    bench.seen(4)
    bench.seen(5, observer=watcher.person)
    assert evidence_on_the_6th(bench) == "enough"


def test_a_reason_given_later_reaches_back_to_the_first_day_of_its_authority(bench: Bench, watcher: Member) -> None:
    bench.seen(4)
    bench.seen(5, observer=watcher.person)
    with at(6):
        grant_authority(
            watcher.person, bench.cast.lane, START, None, by=bench.cast.owner.person, procedures=["P06"],
            counts_because="He taught the course for ten years.",
        )  # fmt: skip
    assert evidence_on_the_6th(bench) == "enough"
    assert differences(bench.cast.organisation) == []


def test_an_outside_witness_counts(bench: Bench) -> None:
    witness = OutsideWitness.objects.create(
        organisation=bench.cast.organisation, printed_name="R. Voss", qualification="trainer", comes_from="elsewhere"
    )
    bench.seen(4)
    bench.seen(5, observer=None, witness=witness)
    assert evidence_on_the_6th(bench) == "enough"


def test_a_founding_grant_taken_back_takes_away_what_its_holder_watched(ready: Bench) -> None:
    assert evidence_on_the_6th(ready) == "enough"
    grant = FoundingGrant.objects.get(person=ready.cast.supervisor.person)
    with at(7):
        void(grant, by=ready.cast.owner.person, reason="The visit never took place.")
    assert evidence_on_the_6th(ready) == "some"
    assert differences(ready.cast.organisation) == []


def test_a_withdrawal_of_the_watcher_recorded_late_takes_only_what_came_after_it(ready: Bench) -> None:
    """Withdrawn on the 5th before the assessment of that day; recorded on the 7th."""
    late = Withdrawal(
        site=ready.cast.lane, happened_on=date(2025, 2, 5), happened_at=time(8), person=ready.cast.supervisor.person,
        procedure=ready.procedure, signer_name="Tobias Rask", reason="Chips were taken out with bare fingers.",
    )  # fmt: skip
    with at(7):
        record(late, by=ready.cast.second.person)
    assert evidence_on_the_6th(ready) == "some"
    assert differences(ready.cast.organisation) == []


def test_a_withdrawal_later_on_the_day_leaves_the_morning_alone(ready: Bench) -> None:
    late = Withdrawal(
        site=ready.cast.lane, happened_on=date(2025, 2, 5), happened_at=time(18), person=ready.cast.supervisor.person,
        procedure=ready.procedure, signer_name="Tobias Rask", reason="Chips were taken out with bare fingers.",
    )  # fmt: skip
    with at(7):
        record(late, by=ready.cast.second.person)
    assert evidence_on_the_6th(ready) == "enough"
    assert differences(ready.cast.organisation) == []


def test_every_piece_of_evidence_is_linked_with_the_word_of_the_one_watched(bench: Bench, client: Client) -> None:
    seen = bench.seen(4, own_word="more", own_words="The filter was hard to reach.")
    with at(6):
        page = client.get(address(bench)).content.decode()
    assert f"/millbrook-lane/observe/{seen.pk}/" in page
    assert "Wren’s own word: Want more practice. “The filter was hard to reach.”" in page


def test_a_founding_grant_sent_again_after_a_signature_is_the_first(bench: Bench) -> None:
    """What it founds was signed in between: no reason to refuse what is recorded already, and one to refuse another."""
    day, site, who = date(2025, 2, 7), bench.cast.lane, bench.cast.assistant.person
    asked = {"by": bench.cast.owner.person, "procedures": ["P06"], "rests_on": "visit", "detail": "A visit."}
    number = uuid4()
    with at(3, 9):
        first = found(who, site, day, day, proved=proved(), id=number, **asked)
    bench.signed()
    with at(6, 13):
        assert found(who, site, day, day, proved=proved(), id=number, **asked) == first
        with pytest.raises(Refused, match="A sign-off is alive for P06"):
            found(who, site, day, day, proved=proved(), id=uuid4(), **asked)


# ---- by PIN (rows E-19, E-20)

PIN = "402917"
PIN_AT = "sign-in name and PIN; the password was given on this device at "


def by_pin(bench: Bench, *signers: Member) -> Client:
    """A tablet on which each of them gave the password and chose a PIN; the last is signed in."""
    tablet = Client()
    for who in signers:
        tablet.post("/change-person/")
        tablet.post("/sign-in/", {"username": who.account.sign_in_name, "password": PASSWORD})
        said = {"submission": uuid4(), "pin": PIN, "again": PIN, "password": PASSWORD}
        assert tablet.post("/account/pin/", said).status_code == 302
    return tablet


def test_a_signature_by_pin_is_as_good_and_says_what_it_rests_on(ready: Bench) -> None:
    with at(6):
        tablet = by_pin(ready, ready.cast.supervisor)
        form = tablet.get(address(ready)).context["form"]
        assert form["password"].label == "PIN or password"
        assert form["sign_in_name"].value() == ready.cast.supervisor.account.sign_in_name
        sign(tablet, ready, ready.cast.supervisor, password=PIN)
    assert SignOff.objects.get().reidentified.startswith(PIN_AT)


def test_somebody_signs_by_pin_at_the_tablet_of_somebody_else(ready: Bench) -> None:
    with at(6):
        tablet = by_pin(ready, ready.cast.supervisor, ready.cast.owner)
        sign(tablet, ready, ready.cast.supervisor, password=PIN)
    assert SignOff.objects.get().signer == ready.cast.supervisor.person


def test_the_pin_of_somebody_lesser_signs_nothing(ready: Bench) -> None:
    with at(6):
        tablet = by_pin(ready, ready.cast.assistant, ready.cast.supervisor)
        assert "authority" in errors(sign(tablet, ready, ready.cast.assistant, password=PIN))
    assert not SignOff.objects.exists()


def test_a_pin_signs_nothing_on_another_device_or_in_a_locked_session(ready: Bench, client: Client) -> None:
    with at(6):
        tablet = by_pin(ready, ready.cast.supervisor)
        statement = tablet.get(address(ready)).context["page"].statement
        assert "Name and password do not belong together" in errors(
            sign(client, ready, ready.cast.supervisor, password=PIN)
        )
        tablet.post("/change-person/")
        said = {"submission": uuid4(), "statement": statement} | proof(ready.cast.supervisor)
        assert tablet.post(address(ready), said | {"password": PIN}).status_code == 302
    assert not SignOff.objects.exists()


def test_after_five_wrong_pins_the_password_signs(ready: Bench) -> None:
    with at(6):
        tablet = by_pin(ready, ready.cast.supervisor)
        for _ in range(5):
            assert "not the PIN" in errors(sign(tablet, ready, ready.cast.supervisor, password="402918"))
        assert errors(sign(tablet, ready, ready.cast.supervisor, password=PIN)) and not SignOff.objects.exists()
        sign(tablet, ready, ready.cast.supervisor)
    assert SignOff.objects.get().reidentified == "sign-in name and password"


def test_what_holds_for_everybody_is_signed_by_password(ready: Bench) -> None:
    """Approving and founding: the field says password, and a PIN is no password there."""
    with at(6):
        form = (
            by_pin(ready, ready.cast.owner)
            .get(reverse("training:founding_new", args=["millbrook-lane"]))
            .context["form"]
        )
    assert form["password"].label == "Password" and not form.by_pin
