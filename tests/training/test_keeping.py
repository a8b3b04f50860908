"""What is kept, how long, and by which rule: a page beside the owner's, and notes where somebody meets them."""

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from django.urls import reverse

from clinic.actions.incidents import file_event
from clinic.actions.purging import hold
from clinic.models import Person
from tests.cast import Cast
from tests.training.people_scene import TODAY, noon
from training.actions.findings import keep_elsewhere
from training.reads.keeping import keeping

LANE = ["millbrook-lane"]
PAGE = "training:what_is_kept"


@pytest.fixture(autouse=True)
def at_noon(cast: Cast) -> Iterator[None]:
    with noon():
        yield


def shown(client: Any, name: str = PAGE, *more: Any) -> str:
    return " ".join(client.get(reverse(name, args=[*LANE, *more])).content.decode().split())


def left_on(cast: Cast, day: date) -> Person:
    who = cast.assistant.person
    Person.objects.filter(pk=who.pk).update(last_day=day)
    return who


def test_each_kind_of_record_says_how_long_it_is_kept_from_the_newest_here(cast: Cast, signed_in: Any) -> None:
    file_event(
        cast.lane, date(2025, 2, 14), by=cast.supervisor.person, kind="sharps injury", contaminated="yes", item="cutter",
        place="Tool bench", how="It slipped.",
    )  # fmt: skip
    page = shown(signed_in(cast.owner))
    assert "7 kinds</span> of record" in page and page.count('data-row="kind"') == 7
    assert "The newest, day 14 February 2025, is kept through 31 December 2030." in page  # O-12
    assert "Near misses and events without injury" in page and "Kept as long as the register is." in page


def test_for_whoever_left_it_says_through_which_day_each_record_is_kept(cast: Cast, signed_in: Any) -> None:
    """Employment and three years here (own choice, D; covers O-06); a health record thirty years (O-18, V)."""
    who = left_on(cast, date(2025, 2, 28))
    page = shown(signed_in(cast.owner))
    said = f"{who.printed_name}</a></th> <td>28 February 2025</td> <td>28 February 2028</td> <td>28 February 2055</td>"
    assert said in page and "This register holds none." in page
    assert "The newest, last day worked 28 February 2025, is kept through 28 February 2028." in page


def test_whoever_still_works_out_their_last_day_has_not_left(cast: Cast) -> None:
    left_on(cast, TODAY)
    assert keeping(cast.lane, TODAY).left == []


def test_a_paper_kept_elsewhere_says_by_when_it_is_reviewed_again(cast: Cast, signed_in: Any) -> None:
    """O-08, V: plan reviewed 2026-01-05, due 2027-01-05; here a year before."""
    keep_elsewhere(
        "Exposure control plan", "blue shelf", "Bram Okafor", date(2025, 1, 5), site=cast.lane, by=cast.owner.person
    )
    assert "Reviewed on 5 January 2025; the next review is by 5 January 2026." in shown(signed_in(cast.owner))


def test_a_legal_hold_is_what_the_page_says_first(cast: Cast, signed_in: Any) -> None:
    hold("A claim.", site=cast.lane, by=None)
    assert "1 legal hold stands</span>: nothing is taken away." in shown(signed_in(cast.owner))


@pytest.mark.parametrize(
    ("who", "status"), [("owner", 200), ("coordinator", 200), ("supervisor", 403), ("elsewhere", 404)]
)
def test_it_is_for_whoever_keeps_the_roster(cast: Cast, signed_in: Any, who: str, status: int) -> None:
    assert signed_in(getattr(cast, who)).get(reverse(PAGE, args=LANE)).status_code == status


def test_the_owners_page_leads_to_it(cast: Cast, signed_in: Any) -> None:
    assert reverse(PAGE, args=LANE) in shown(signed_in(cast.owner), "training:owner")


def test_the_vaccine_is_named_beside_somebody_new_to_whoever_keeps_the_roster_only(cast: Cast, signed_in: Any) -> None:
    """O-19, M: ten working days after the job began; afterwards, and to others, the page is silent."""
    who = cast.assistant.person
    who.roles_held.update(from_day=date(2025, 2, 24))
    assert "the hepatitis B vaccine is offered by 10 March 2025" in shown(
        signed_in(cast.owner), "training:person", who.pk
    )
    assert "hepatitis" not in shown(signed_in(cast.assistant), "training:person", who.pk)
    who.roles_held.update(from_day=date(2025, 2, 14))
    assert "hepatitis" not in shown(signed_in(cast.owner), "training:person", who.pk)


def test_the_log_of_sharps_injuries_says_what_the_number_of_people_means(cast: Cast, signed_in: Any) -> None:
    """O-14: of the whole practice, both sites, in the calendar year before; nothing of a year before the register."""
    assert "This register does not know all of 2024." in shown(signed_in(cast.owner), "clinic:sharps_log")
    cast.organisation.sites.update(register_start=date(2024, 1, 1))
    for who in (cast.assistant.person, cast.elsewhere.person):
        who.roles_held.update(from_day=date(2024, 5, 1), to_day=date(2024, 5, 31))
    page = shown(signed_in(cast.owner), "clinic:sharps_log")
    assert (
        "at most 2 people at work in the whole practice on one day of 2024" in page
        and "unless asked in writing" in page
    )
