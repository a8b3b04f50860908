"""A practice starts with one command; its owner chooses a password and does everything else on the pages."""

import re
from io import StringIO

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.test import Client

from clinic.models import Account, Change, Organisation, Person, Site
from clinic.permissions import Allowed, May
from clinic.seals import check_site
from tests.house.addresses import addresses, link
from training.models import Draft, Version
from training.reads.going_live import NEW, left_to_do
from training.rules.library import read_library

pytestmark = pytest.mark.django_db
FIRST = {"organisation": "Quay Dental", "name": "The Quay", "code": "the-quay", "owner": "Asta van Winther"}


def said(**options: str) -> str:
    out = StringIO()
    call_command("new_site", stdout=out, **options)
    return out.getvalue()


def test_the_owner_of_a_new_practice_signs_in_and_appoints() -> None:
    address = re.search(r"/invitation/\S+/", said(**FIRST)).group()  # type: ignore[union-attr]
    sent = {"new_password1": "nine lanterns by the quay", "new_password2": "nine lanterns by the quay", "accepts": "on"}
    client = Client()
    assert client.post(address, sent).status_code == 302
    assert client.get("/the-quay/today/").status_code == 200
    owner = Person.objects.get(given_name="Asta van", family_name="Winther")
    assert Allowed(owner).may(May.APPOINT, Site.objects.get(code="the-quay"))


def test_the_first_page_of_a_new_owner_leads_to_going_live_until_the_practice_is_not_new() -> None:
    said(**FIRST)
    site, client = Site.objects.get(), Client()
    client.force_login(Account.objects.get())
    assert "steps to going live" in client.get("/the-quay/today/").content.decode()
    assert "Nobody works here yet." in client.get("/the-quay/people/").content.decode()
    assert (left_to_do(site, site.register_start + NEW) > 0, left_to_do(site, site.register_start + 2 * NEW)) == (
        True,
        0,
    )


def test_a_second_site_joins_the_practice() -> None:
    said(**FIRST)
    said(organisation="Quay Dental", name="The Mill", code="the-mill")
    assert Organisation.objects.get().sites.count() == 2
    assert Account.objects.count() == 1


def test_the_first_site_needs_an_owner_and_leaves_nothing_behind_without() -> None:
    with pytest.raises(CommandError, match="needs --owner"):
        said(**{**FIRST, "owner": ""})
    assert not Organisation.objects.exists()


@pytest.mark.parametrize("code", ["the-quay", "check", "Not a code"])
def test_a_short_name_that_cannot_be_is_refused(code: str) -> None:
    said(**FIRST)
    with pytest.raises(CommandError):
        said(organisation="Quay Dental", name="The Mill", code=code)
    assert Site.objects.count() == 1


def test_what_was_started_is_sealed() -> None:
    said(**FIRST)
    site = Site.objects.get()
    assert (check_site(site), site.last_position > 0) == ([], True)


def test_loading_the_library_puts_nothing_in_force_in_anybodys_name() -> None:
    said(**FIRST)
    out = StringIO()
    call_command("load_library", by="1", stdout=out)
    assert "Nothing is in force yet. The owner signs in" in out.getvalue()
    texts = len(read_library(settings.LIBRARY_DIR).procedures)
    assert (Version.objects.count(), Draft.objects.filter(state=Draft.State.SUBMITTED).count()) == (0, texts)


def test_a_new_site_takes_the_guess_of_its_computer_and_says_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("clinic.site_ways.tzlocal.get_localzone_name", lambda: "America/Chicago")
    monkeypatch.setattr("clinic.site_ways.locale.getlocale", lambda: ("en_US", "UTF-8"))
    assert "Time zone America/Chicago, US Letter paper, en-US: days in figures are read month first." in said(**FIRST)
    site = Site.objects.get()
    assert (site.time_zone, site.paper, site.language) == ("America/Chicago", "Letter", "en-US")


def test_whoever_sits_at_the_keyboard_is_asked_and_asked_again_after_a_slip(monkeypatch: pytest.MonkeyPatch) -> None:
    answers = iter(["Europe/Lodnon", "Europe/London", "", "Letter"])
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("builtins.input", lambda asks: next(answers))
    monkeypatch.setattr("clinic.site_ways.locale.getlocale", lambda: ("en_IE", "UTF-8"))
    said(**FIRST)
    site = Site.objects.get()
    assert (site.time_zone, site.paper, site.language) == ("Europe/London", "Letter", "en-IE")


@pytest.mark.parametrize(("name", "word"), [("time_zone", "Mars"), ("paper", "A3"), ("language", "english")])
def test_a_word_that_is_none_is_refused_by_its_option(name: str, word: str) -> None:
    with pytest.raises(CommandError, match=f"--{name.replace('_', '-')}: “{word}” is none"):
        said(**FIRST, **{name: word})


def test_the_ways_of_a_site_are_changed_on_a_page_and_the_record_says_so() -> None:
    said(**FIRST)
    client = Client()
    client.force_login(Account.objects.get())
    page = "/the-quay/people/roster/site/"
    assert "english" in client.post(page, {"time_zone": "UTC", "paper": "A4", "language": "english"}).content.decode()
    assert client.post(page, {"time_zone": "Europe/Oslo", "paper": "Letter", "language": "en-US"}).status_code == 302
    site = Site.objects.get()
    assert (site.time_zone, site.paper, site.language) == ("Europe/Oslo", "Letter", "en-US")
    assert Change.objects.filter(said__contains="Europe/Oslo, US Letter paper, en-US").count() == 1
    assert "Nobody is named as infection-prevention coordinator." in client.get(page).content.decode()
    ways = {
        "time_zone": "Europe/Oslo",
        "paper": "Letter",
        "language": "en-US",
        "infection_coordinator": "Ines Pell, trained",
    }
    assert client.post(page, ways).status_code == 302
    assert "Infection prevention is coordinated by Ines Pell, trained." in client.get(page).content.decode()
    assert check_site(site) == []


EMPTY = re.compile(r'<div class="empty">(.*?)</div>', re.S)
SAID_BESIDE = {
    "clinic:intervals": "the library is loaded by a command",
    "training:procedures": "the library is loaded by a command",
    "clinic:closures": "the form stands beside it",
    "clinic:days_in_time": "the days are chosen above it",
    "clinic:stock_lines": "the form stands beside it",
    "clinic:unit_messages": "the form stands beside it",
    "clinic:jobs": "a job is started from its unit",
}
"""Pages whose empty part has no button of its own, and why."""


def empty_parts(client: Client, page: str) -> list[str]:
    answer = client.get(page)
    return EMPTY.findall(answer.content.decode()) if "html" in answer.headers.get("Content-Type", "") else []


def test_whatever_is_empty_in_a_new_practice_has_the_button_of_the_one_next_thing() -> None:
    said(**FIRST)
    client = Client()
    client.force_login(Account.objects.get())
    site, owner = Site.objects.get(), Person.objects.get()
    pages = {each.name: link(each, site, owner) for each in addresses() if set(each.parts) == {"site"}}
    bare = [
        f"{name}: {part}" for name, page in pages.items() for part in empty_parts(client, page) if "href" not in part
    ]
    assert len(pages) > 40
    assert [each for each in bare if each.partition(": ")[0] not in SAID_BESIDE] == []
