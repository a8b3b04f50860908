"""Passkeys: made and used with an authenticator in software (tests.authenticator), verified by the library.

What is refused follows WebAuthn (W3C, level 2): 7.1 for one that is made and 7.2 for one that is used (challenge, origin, name of
the register, signature, a count that went back).
"""

import json
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client, RequestFactory

from clinic import passkeys
from clinic.factors import CODES, living
from clinic.models import FactorChange, Seal, SecondFactor
from clinic.passkeys import RegisterOrigin
from tests.authenticator import Authenticator, text
from tests.cast import PASSWORD, Cast, Member

pytestmark = pytest.mark.django_db
PAGE, SECOND, TODAY = "/account/factors/passkey/", "/sign-in/second/", "/millbrook-lane/today/"
AT = {"SERVER_NAME": "localhost"}
HOME = RegisterOrigin("localhost", "http://localhost")


@pytest.fixture
def client_of(signed_in: Any) -> Any:
    """Somebody's session at http://localhost."""

    def opened(who: Member) -> Client:
        client = signed_in(who)
        client.defaults |= AT
        return client

    return opened


@pytest.fixture(autouse=True)
def _localhost(settings: Any) -> None:
    settings.ALLOWED_HOSTS = ["localhost", "127.0.0.1", "testserver"]


def asked_to_make(client: Client, label: str = "my laptop", password: str = PASSWORD) -> str:
    sent = {"submission": uuid4(), "label": label, "password": password}
    shown = client.post(PAGE, sent)
    return shown.context.get("options", "")


def add(client: Client, key: Authenticator, label: str = "my laptop") -> Any:
    return client.post(PAGE, {"credential": key.make(asked_to_make(client, label))})


@pytest.fixture
def key(cast: Cast, client_of: Any) -> Authenticator:
    """A passkey that the owner has added."""
    made = Authenticator()
    assert len(add(client_of(cast.owner), made).context["codes"]) == CODES
    return made


def waits(who: Member) -> tuple[Client, str]:
    """Somebody whose password was right, and what the browser is asked."""
    client = Client(**AT)
    client.post("/sign-in/", {"username": who.account.sign_in_name, "password": PASSWORD})
    return client, client.get(SECOND).context["options"]


def proves(client: Client, answer: str) -> bool:
    client.post(SECOND, {"credential": answer})
    return client.get(TODAY).status_code == 200


def test_a_passkey_is_added_and_signs_in(cast: Cast, key: Authenticator) -> None:
    client, options = waits(cast.owner)
    assert client.get(TODAY).status_code != 200
    assert proves(client, key.prove(options))
    assert "passkey “my laptop”" in client.get("/account/").content.decode()


def test_adding_one_leaves_a_sealed_fact_without_any_secret(cast: Cast, key: Authenticator) -> None:
    fact, row = FactorChange.objects.get(what="added"), SecondFactor.objects.get()
    assert (fact.pk, fact.kind, fact.label) == (row.pk, "passkey", "my laptop")
    assert Seal.objects.filter(fact=fact.pk).exists() and row.credential == text(key.id)


def test_an_answer_is_good_once(cast: Cast, key: Authenticator) -> None:
    client, options = waits(cast.owner)
    answer = key.prove(options)
    assert proves(client, answer)
    assert not proves(waits(cast.owner)[0], answer)


def test_a_challenge_is_good_once_even_after_a_wrong_answer(cast: Cast, key: Authenticator) -> None:
    client, options = waits(cast.owner)
    assert not proves(client, Authenticator().prove(options))
    assert not proves(client, key.prove(options))
    assert proves(client, key.prove(client.get(SECOND).context["options"]))


def test_a_passkey_of_somebody_else_proves_nothing(cast: Cast, key: Authenticator, client_of: Any) -> None:
    theirs = Authenticator()
    add(client_of(cast.coordinator), theirs)
    client, options = waits(cast.owner)
    assert not proves(client, theirs.prove(options))


def test_another_key_under_the_same_name_proves_nothing(cast: Cast, key: Authenticator) -> None:
    client, options = waits(cast.owner)
    forged = Authenticator()
    forged.id, forged.count = key.id, 7
    assert not proves(client, forged.prove(options))


@pytest.mark.parametrize(
    ("host", "origin"),
    [("localhost", "https://elsewhere.example"), ("elsewhere.example", "http://localhost")],
    ids=["another origin", "another name"],
)
def test_a_page_elsewhere_gets_nothing_out_of_it(cast: Cast, key: Authenticator, host: str, origin: str) -> None:
    client, options = waits(cast.owner)
    key.host, key.origin = host, origin
    assert not proves(client, key.prove(options))


def test_a_count_that_went_back_proves_nothing(cast: Cast, key: Authenticator) -> None:
    client, options = waits(cast.owner)
    key.count = 8
    assert proves(client, key.prove(options))
    client, options = waits(cast.owner)
    key.count = 4
    assert not proves(client, key.prove(options))


def test_a_removed_one_is_not_asked_for(cast: Cast, key: Authenticator) -> None:
    client, options = waits(cast.owner)
    SecondFactor.objects.update(ended_at="2026-01-01T00:00Z")
    assert not proves(client, key.prove(options))


RUBBISH = [
    "", "{", "[]", "null", "7", '"x"', "{}", '{"id": 7}', '{"id": "x", "rawId": "x", "type": "public-key", "response": {}}',
    "[" * 19_000, "x" * 60_000, "\0", json.dumps({"id": "é", "rawId": "é", "type": "public-key", "response": {
        "clientDataJSON": "é", "authenticatorData": "é", "signature": "é", "attestationObject": "é"}}),
]  # fmt: skip


@pytest.mark.parametrize("answer", RUBBISH, ids=range(len(RUBBISH)))
def test_rubbish_proves_nothing_and_makes_nothing(cast: Cast, key: Authenticator, client_of: Any, answer: str) -> None:
    assert not proves(waits(cast.owner)[0], answer)
    client = client_of(cast.coordinator)
    asked_to_make(client)
    client.post(PAGE, {"credential": answer})
    assert not living(cast.coordinator.account).exists()


def spoilt(answer: str, name: str) -> str:
    """With one byte of a part another."""
    data = json.loads(answer)
    part = data["response"][name]
    data["response"][name] = part[:-9] + ("A" if part[-9] != "A" else "B") + part[-8:]
    return json.dumps(data)


@pytest.mark.parametrize("name", ["clientDataJSON", "authenticatorData", "signature"])
def test_an_answer_with_one_byte_changed_proves_nothing(cast: Cast, key: Authenticator, name: str) -> None:
    client, options = waits(cast.owner)
    assert not proves(client, spoilt(key.prove(options), name))


# Adding.


def test_none_is_made_without_the_password(cast: Cast, client_of: Any) -> None:
    assert asked_to_make(client_of(cast.owner), password="not my password at all") == ""


def test_none_is_made_out_of_turn(cast: Cast, client_of: Any) -> None:
    client = client_of(cast.owner)
    options = asked_to_make(client_of(cast.coordinator))
    assert client.post(PAGE, {"credential": Authenticator().make(options)}).url == "/account/"
    asked_to_make(client)
    assert "proves no passkey" in client.post(PAGE, {"credential": Authenticator().make(options)}).content.decode()
    assert not living(cast.owner.account).exists()


def test_sent_twice_it_is_one(cast: Cast, client_of: Any) -> None:
    client, made = client_of(cast.owner), Authenticator()
    answer = made.make(asked_to_make(client))
    client.post(PAGE, {"credential": answer})
    assert client.post(PAGE, {"credential": answer}).url == "/account/"
    assert living(cast.owner.account).count() == 1


def test_one_that_belongs_to_somebody_is_not_added_again(cast: Cast, key: Authenticator, client_of: Any) -> None:
    client = client_of(cast.coordinator)
    assert "is here already" in add(client, key).content.decode()
    assert not living(cast.coordinator.account).exists()


def test_the_browser_is_told_which_are_known(cast: Cast, key: Authenticator, client_of: Any) -> None:
    options = json.loads(asked_to_make(client_of(cast.owner), "another"))
    assert [each["id"] for each in options["excludeCredentials"]] == [text(key.id)]
    assert options["rp"]["id"] == "localhost" and cast.owner.account.sign_in_name == options["user"]["name"]


def test_a_second_factor_comes_without_new_codes(cast: Cast, key: Authenticator, client_of: Any) -> None:
    assert add(client_of(cast.owner), Authenticator(), "another").url == "/account/"


# Where browsers make passkeys: W3C Secure Contexts 3.1 (localhost), and a name that is a domain (WebAuthn 5.1.2).


@pytest.mark.parametrize(
    ("host", "secure", "here"),
    [
        ("localhost:8000", False, RegisterOrigin("localhost", "http://localhost:8000")),
        ("register.example", True, RegisterOrigin("register.example", "https://register.example")),
        ("register.example", False, None),
        ("127.0.0.1:8000", False, None),
        ("192.0.2.7", True, None),
        ("[::1]:8000", True, None),
    ],
)
def test_a_passkey_belongs_to_a_name(host: str, secure: bool, here: RegisterOrigin | None, settings: Any) -> None:
    settings.ALLOWED_HOSTS = ["*"]
    assert passkeys.here(RequestFactory().get("/", HTTP_HOST=host, secure=secure)) == here


def test_a_passkey_of_another_name_is_told_of_and_not_asked_for(cast: Cast, key: Authenticator) -> None:
    client = Client()
    client.post("/sign-in/", {"username": cast.owner.account.sign_in_name, "password": PASSWORD})
    shown = client.get(SECOND)
    assert shown.context["options"] == "" and "belongs to another name" in shown.content.decode()


def test_at_a_bare_number_the_page_says_what_to_do(cast: Cast, signed_in: Any) -> None:
    assert "make no passkeys at this address" in signed_in(cast.owner).get(PAGE).content.decode()
