"""The register says where it is reached, before anybody waits for it; by a name it does not know, it says which setting to set."""

import socket
from collections.abc import Iterator
from typing import Any

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.test import Client

from clinic import network
from clinic.models import Organisation
from clinic.network import own_addresses, own_names, refuse_taken_port
from tests.cast import Cast


@pytest.fixture
def taken() -> Iterator[int]:
    """A port at which something else answers."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        yield server.getsockname()[1]


def test_a_taken_port_is_refused_with_one_that_is_free(taken: int) -> None:
    with pytest.raises(CommandError, match=rf"Port {taken} of 127.0.0.1 is taken.* --port \d+") as refused:
        refuse_taken_port("127.0.0.1", taken)
    offered = int(str(refused.value).rsplit("--port ", 1)[1].rstrip("."))
    refuse_taken_port("127.0.0.1", offered)


def test_an_address_that_this_computer_has_not_is_refused_in_words() -> None:
    """RFC 5737: 192.0.2.1 is nobody's."""
    with pytest.raises(CommandError, match=r"cannot serve at 192\.0\.2\.1, port 8000"):
        refuse_taken_port("192.0.2.1", 8000)


def test_any_free_port_is_never_taken() -> None:
    refuse_taken_port("127.0.0.1", 0)


@pytest.mark.django_db
def test_the_demo_is_not_made_for_a_port_that_is_taken(taken: int) -> None:
    with pytest.raises(CommandError, match="is taken"):
        call_command("demo", port=taken)
    assert not Organisation.objects.exists()


def test_served_to_this_computer_only_it_names_nothing_else() -> None:
    assert own_names("127.0.0.1") == ["127.0.0.1"]


def test_served_to_the_network_it_names_addresses_that_others_can_type(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(network, "own_addresses", lambda: ["10.0.0.7", "127.0.1.1"])
    monkeypatch.setattr(socket, "gethostname", lambda: "front-desk")
    assert own_names("0.0.0.0") == ["10.0.0.7", "front-desk"]


def test_every_address_is_one_at_which_this_computer_can_serve() -> None:
    for address in own_addresses():
        with socket.create_server((address, 0)):
            pass


@pytest.mark.django_db
def test_by_another_name_the_page_says_which_setting_to_set(client: Client, settings: Any) -> None:
    settings.ALLOWED_HOSTS = ["127.0.0.1"]
    answer = client.get("/sign-in/", headers={"host": "<b>front-desk:8000"})
    page = answer.content.decode()
    assert answer.status_code == 400
    assert "The register is not known here as &lt;b&gt;front-desk:8000." in page and "MILLROOM_HOSTS" in page


@pytest.mark.parametrize(
    ("asked", "hosts", "given", "is_known"),
    [
        ("127.0.0.1:8000", ["127.0.0.1", "192.168.4.20", "millroom"], "http://192.168.4.20:8000/x/", True),
        ("localhost:8000", ["127.0.0.1", "localhost", "[::1]"], "http://localhost:8000/x/", False),
        ("[::1]:8000", ["[::1]", ".example", "*"], "http://[::1]:8000/x/", False),
        ("192.168.4.20:8000", ["127.0.0.1", "192.168.4.20"], "http://192.168.4.20:8000/x/", True),
    ],
)
def test_an_address_that_is_handed_over_is_one_that_others_reach_or_says_that_it_is_not(
    settings: Any, rf: Any, asked: str, hosts: list[str], given: str, is_known: bool
) -> None:
    settings.ALLOWED_HOSTS = hosts
    address, against = network.for_others(rf.get("/", headers={"Host": asked}), "/x/")
    assert (address, against == "") == (given, is_known)


@pytest.mark.django_db
def test_an_invitation_made_at_the_computer_itself_says_that_its_address_helps_nobody_else(
    cast: Cast, signed_in: Any, settings: Any
) -> None:
    settings.ALLOWED_HOSTS = ["127.0.0.1"]
    cast.assistant.account.set_unusable_password()
    cast.assistant.account.save()
    page = f"/{cast.lane.code}/people/roster/{cast.assistant.person.pk}/invite/"
    answer = signed_in(cast.coordinator).post(page, {"again": "yes"}, headers={"Host": "127.0.0.1:8000"})
    assert network.HERE_ONLY in answer.content.decode()
