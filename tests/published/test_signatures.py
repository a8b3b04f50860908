"""Signatures held against 21 CFR Part 11 (rows E-13, E-15, E-19 to E-21 of the handbook). The register is no record under that
part; it borrows the pattern (row E-18). Marks: V read in the published text, D our own design."""

from io import BytesIO
from typing import Any
from uuid import uuid4

import pytest
from django.db import IntegrityError, connection, transaction
from django.test import Client
from pypdf import PdfReader

from clinic.models import Seal
from clinic.models.refusal import install_refusals
from clinic.seals import check_site
from tests.fixtures import lift_refusals
from tests.training.bench import Bench, at, proof
from tests.training.test_signing import address, errors, sign
from training.actions.issue import is_whole, issue_certificate
from training.documents.certificate import build
from training.models import Issue, SignOff
from training.reads.certificate import content_from

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench(bench: Bench) -> Bench:
    bench.seen(4)
    bench.seen(5)
    return bench


@pytest.fixture
def client(bench: Bench, signed_in: Any) -> Client:
    return signed_in(bench.cast.supervisor)


@pytest.fixture
def signed(bench: Bench, client: Client) -> SignOff:
    with at(6):
        sign(client, bench, bench.cast.supervisor)
    return SignOff.objects.get()


# E-13, 21 CFR 11.50(a)(1)-(3), V: printed name, date and time, meaning. E-14, 11.50(b), V: in every human-readable form.
NAME, TIME, MEANING = "Ines Pellow", "12:00", "Responsibility: I state that this person may do this procedure here"


def test_e13_the_page_shows_printed_name_time_and_meaning(signed: SignOff, client: Client) -> None:
    with at(6):
        page = client.get(f"/millbrook-lane/signed/{signed.pk}/").content.decode()
    assert all(words in page for words in (NAME, "6 February 2025 at 12:00", MEANING))


def test_e13_the_print_shows_printed_name_time_and_meaning(signed: SignOff) -> None:
    with at(6):
        row = issue_certificate(signed, by=signed.signer)
    [page] = PdfReader(BytesIO(build(content_from(row.frozen)))).pages
    text = " ".join(page.extract_text().split())
    assert all(words in text for words in (NAME, "6 February 2025", TIME, MEANING))


@pytest.mark.parametrize("without", ["meaning", "signer_name"])
def test_e13_a_signature_without_its_meaning_or_name_is_no_record(signed: SignOff, without: str) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        signed.pk = uuid4()
        setattr(signed, without, "")
        signed.save(force_insert=True)


# E-15, 21 CFR 11.70, V (wording in copies): a signature cannot be cut out, copied or moved to another record.
def test_e15_a_signature_copied_to_another_record_is_found(bench: Bench, signed: SignOff) -> None:
    lift_refusals()
    with connection.cursor() as cursor:
        cursor.execute(
            "update training_signoff set person_id = %s",
            [bench.cast.second.person.pk.hex if connection.vendor == "sqlite" else bench.cast.second.person.pk],
        )
    install_refusals()
    assert str(signed.pk) in {each.fact for each in check_site(bench.cast.lane)}


def test_e15_the_digest_of_a_certificate_covers_its_record_and_its_content(signed: SignOff) -> None:
    with at(6):
        row = issue_certificate(signed, by=signed.signer)
    copied = Issue(id=uuid4(), frozen=row.frozen, frozen_digest=row.frozen_digest)
    assert (is_whole(row), is_whole(copied)) == (True, False)


def test_e15_the_seal_of_a_signature_names_its_record(signed: SignOff) -> None:
    assert Seal.objects.get(fact=signed.pk).content_digest != Seal.objects.exclude(fact=signed.pk).last().content_digest


# E-19, 21 CFR 11.200(a)(1), V: at least two distinct components, such as a name and a password.
def test_e19_a_session_alone_signs_nothing(bench: Bench, client: Client) -> None:
    with at(6):
        answer = sign(client, bench, bench.cast.supervisor, password="")
    assert "being signed in is not enough to sign" in errors(answer)
    assert not SignOff.objects.exists()


def test_e19_a_password_alone_signs_nothing_at_first(bench: Bench, client: Client) -> None:
    with at(6):
        answer = sign(client, bench, bench.cast.supervisor, sign_in_name="")
    assert "Type the sign-in name" in errors(answer)
    assert not SignOff.objects.exists()


# E-20, 21 CFR 11.200(a)(1)(i), V: in one continuous session the first signing uses all components, later ones at least one
# that only the signer can use.
def test_e20_a_later_signing_of_the_session_asks_the_password_only(
    signed: SignOff, bench: Bench, client: Client
) -> None:
    bench.seen(10)
    bench.seen(11)
    with at(6):
        withdrawn = client.post(
            address(bench, "withdraw"), {"submission": uuid4(), "reason": "To see."} | password_only(bench)
        )
    assert withdrawn.status_code == 302


def test_e20_how_it_was_proved_is_recorded(signed: SignOff) -> None:
    assert signed.reidentified == "sign-in name and password"


def test_e20_the_password_is_asked_every_time(signed: SignOff, bench: Bench, client: Client) -> None:
    with at(6):
        answer = client.post(address(bench, "withdraw"), {"submission": uuid4(), "reason": "To see."})
    assert "Type the password" in errors(answer)


def test_e20_somebody_else_on_the_same_tablet_gives_both(signed: SignOff, bench: Bench, client: Client) -> None:
    form = {"submission": uuid4(), "reason": "To see."} | proof(bench.cast.second)
    with at(6):
        client.post(address(bench, "withdraw"), form)
        assert (
            client.post(address(bench, "withdraw"), form | {"submission": uuid4(), "password": ""}).status_code == 200
        )
    assert signed.person.withdrawals.get().recorded_by == bench.cast.second.person


# E-21, 21 CFR 11.200(a)(1)(ii), V: signings not in one continuous session use all components each time.
def test_e21_after_an_idle_lock_both_are_asked_again(signed: SignOff, bench: Bench, client: Client) -> None:
    with at(6, 14):
        name, word = (proof(bench.cast.supervisor)[key] for key in ("sign_in_name", "password"))
        assert client.get(address(bench, "withdraw")).url.startswith("/unlock/")
        client.post("/unlock/", {"username": name, "password": word})
        answer = client.post(
            address(bench, "withdraw"), {"submission": uuid4(), "reason": "To see."} | password_only(bench)
        )
    assert "Type the sign-in name" in errors(answer)


def test_e21_another_session_of_the_same_person_gives_both(signed: SignOff, bench: Bench, signed_in: Any) -> None:
    with at(6):
        client = signed_in(bench.cast.supervisor)
        answer = client.post(
            address(bench, "withdraw"), {"submission": uuid4(), "reason": "To see."} | password_only(bench)
        )
    assert "Type the sign-in name" in errors(answer)


def password_only(bench: Bench) -> dict[str, str]:
    return {"sign_in_name": "", "password": proof(bench.cast.supervisor)["password"]}
