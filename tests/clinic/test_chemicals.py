"""The list of chemicals: what is where from when to when, and which hazard classes came new."""

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest

from clinic.models import ChemicalGone, ChemicalListed
from clinic.reads.chemicals import chemicals_of, here_on
from tests.cast import REGISTER_START, Cast

pytestmark = pytest.mark.django_db
TODAY = date.today()
LINE = {"hazard_classes": ["skin corrosion or irritation"], "place": "sink"}


def typed(day: date) -> str:
    return f"{day.day} {day:%b %Y}"


def form(**changes: Any) -> dict[str, Any]:
    days = {"sheet_revision": typed(TODAY), "since": typed(TODAY)}
    return LINE | days | {"submission": str(uuid4()), "product": "additive"} | changes


def post(cast: Cast, client: Any, page: str = "new/", **changes: Any) -> str:
    return client.post(f"/{cast.lane.code}/upkeep/chemicals/{page}", form(**changes), follow=True).content.decode()


def here(cast: Cast, day: date = TODAY) -> list[tuple[str, str]]:
    return [(one.row.product, one.row.place) for one in here_on(chemicals_of(cast.lane), day)]


def test_only_a_new_hazard_class_asks_for_teaching(cast: Cast, signed_in: Any) -> None:
    """29 CFR 1910.1200(h)(1) (O-24): a new hazard opens teaching; a new product of a known class does not."""
    client = signed_in(cast.coordinator)
    pages = [post(cast, client, product=product) for product in ("additive", "cleaner")]
    assert ["Teach hazard communication" in page for page in pages] == [True, False]


def test_what_was_here_when_the_register_started_is_not_new(cast: Cast, signed_in: Any) -> None:
    """Own reading of O-24: the first teaching covers what stood here then."""
    page = post(cast, signed_in(cast.coordinator), since=typed(REGISTER_START))
    assert "is on the list" in page
    assert "Teach hazard communication" not in page


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("product", "", "Write the product as on its label."),
        ("place", "", "Say where it stands."),
        ("hazard_classes", ["nasty"], "is no hazard class. Tick those of the list."),
        ("sheet_revision", "03/04/26", "Write the day with the month’s name, such as 25 Nov 2026."),
        (
            "sheet_revision",
            typed(TODAY + timedelta(days=2)),
            "The revision is in the future. Give the day on the sheet.",
        ),
        ("since", typed(TODAY + timedelta(days=2)), "The day is in the future. List it when it is here."),
    ],
)
def test_bad_input_is_refused_by_name_and_loses_nothing(
    cast: Cast, signed_in: Any, field: str, value: Any, says: str
) -> None:
    page = post(cast, signed_in(cast.coordinator), **({"place": "the tall shelf"} | {field: value}))
    assert says in page.replace("&quot;", '"')
    assert field == "place" or "the tall shelf" in page
    assert not ChemicalListed.objects.exists()


def test_the_same_submission_twice_is_one_line(cast: Cast, signed_in: Any) -> None:
    sent = form()
    for _ in range(2):
        signed_in(cast.coordinator).post(f"/{cast.lane.code}/upkeep/chemicals/new/", sent)
    assert ChemicalListed.objects.count() == 1


def test_a_change_ends_the_old_line_and_keeps_it(cast: Cast, signed_in: Any) -> None:
    client, before = signed_in(cast.coordinator), TODAY - timedelta(days=30)
    post(cast, client, since=typed(before))
    again = form(place="locked cupboard")
    for _ in range(2):
        client.post(f"/{cast.lane.code}/upkeep/chemicals/{ChemicalListed.objects.earliest('recorded_at').pk}/", again)
    assert (here(cast, before), here(cast)) == ([("additive", "sink")], [("additive", "locked cupboard")])
    assert ChemicalListed.objects.count() == 2


def test_a_product_leaves_the_list_and_stays_in_the_record(cast: Cast, signed_in: Any) -> None:
    client = signed_in(cast.coordinator)
    post(cast, client)
    page = f"/{cast.lane.code}/upkeep/chemicals/{ChemicalListed.objects.get().pk}/"
    gone = {"submission": str(uuid4()), "gone": "yes", "day": typed(TODAY)}
    said = [client.post(page, gone | more, follow=True).content.decode() for more in ({}, {"submission": str(uuid4())})]
    assert "0 products are</span> on the list" in said[0]
    assert "It is off the list already." in said[1]
    assert (ChemicalListed.objects.count(), ChemicalGone.objects.count()) == (1, 1)


def test_the_list_of_a_past_day_is_what_stood_there_then(cast: Cast, signed_in: Any) -> None:
    client = signed_in(cast.coordinator)
    post(cast, client, since=typed(TODAY - timedelta(days=9)))
    page = f"/{cast.lane.code}/upkeep/chemicals/"
    days = [TODAY - timedelta(days=number) for number in (10, 9)]
    assert [len(client.get(page, {"day": day.isoformat()}).context["rows"]) for day in days] == [0, 1]


def test_another_sites_product_is_not_there(cast: Cast, signed_in: Any) -> None:
    post(cast, signed_in(cast.coordinator))
    row = ChemicalListed.objects.get()
    assert signed_in(cast.owner).get(f"/{cast.court.code}/upkeep/chemicals/{row.pk}/").status_code == 404


def test_whoever_is_on_duty_reads_the_list_and_does_not_change_it(cast: Cast, signed_in: Any) -> None:
    post(cast, signed_in(cast.coordinator))
    page = f"/{cast.lane.code}/upkeep/chemicals/{ChemicalListed.objects.get().pk}/"
    client = signed_in(cast.assistant)
    assert (client.get(page).status_code, client.post(page, form()).status_code) == (200, 403)
