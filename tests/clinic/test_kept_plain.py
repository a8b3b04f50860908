"""Plain forms of daily work keep themselves on the tablet: the page says where, and a script is answered where to go."""

from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from clinic import clock
from clinic.models import Use
from tests.cast import Cast

pytestmark = pytest.mark.django_db
DATA = {"HTTP_ACCEPT": "application/json"}
MARK = b'id="kept-notice"'


def address(cast: Cast, name: str = "clinic:use") -> str:
    unit = {"clinic:use": [cast.unit.pk], "clinic:return_unit": [cast.unit.pk]}.get(name, [])
    return reverse(name, args=[cast.lane.code, *unit])


def used(**changes: Any) -> dict[str, Any]:
    return {
        "submission": uuid4(),
        "units": "3",
        "day": f"{clock.today('Europe/London'):%-d %b %Y}",
        "what": "",
    } | changes


PAGES = ["clinic:use", "clinic:new_event", "clinic:new_chemical", "clinic:new_tool", "training:session_new"]


@pytest.mark.parametrize("name", PAGES)
def test_its_page_says_that_it_is_kept_and_holds_no_password(cast: Cast, signed_in: Any, name: str) -> None:
    page = signed_in(cast.coordinator).get(address(cast, name))
    kept = page.context["kept"]
    assert page.content.count(MARK) == 1 and b'type="password"' not in page.content
    assert (kept["observer"], kept["address"]) == (str(cast.coordinator.person.pk), address(cast, name))


def test_a_near_miss_is_not_kept_under_a_name(cast: Cast, signed_in: Any) -> None:
    page = signed_in(cast.assistant).get(address(cast, "clinic:near_miss")).content.decode()
    assert 'data-unkept="no name is kept' in page.split("<main")[1]


def test_a_script_is_told_where_to_go_and_once_is_one_fact(cast: Cast, signed_in: Any) -> None:
    client, sent = signed_in(cast.supervisor), used()
    answers = [client.post(address(cast), sent, **DATA) for _ in range(2)]
    assert [each.json() for each in answers] == [{"go": address(cast)}] * 2
    assert Use.objects.filter(pk=sent["submission"]).count() == 1


def test_what_is_refused_is_answered_by_the_page_that_says_why(cast: Cast, signed_in: Any) -> None:
    answer = signed_in(cast.supervisor).post(address(cast), used(units="none"), **DATA)
    assert answer.status_code == 200 and answer.context["form"].errors and "html" in answer.headers["Content-Type"]


def test_a_way_to_a_proof_is_no_answer(cast: Cast) -> None:
    """The script keeps what it has: nothing was recorded."""
    answer = Client().post(address(cast), used(), **DATA)
    assert answer.status_code == 302 and answer.url.startswith("/sign-in/") and not Use.objects.exists()


def test_without_a_script_the_form_is_answered_as_ever(cast: Cast, signed_in: Any) -> None:
    assert signed_in(cast.supervisor).post(address(cast), used()).status_code == 302
