"""Loads of a steriliser: released by their monitors, and by nothing else."""

from typing import Any
from uuid import uuid4

import pytest

from clinic.actions.upkeep import stop_unit
from clinic.models import Equipment, LoadReleased
from tests.cast import REGISTER_START, Cast

pytestmark = pytest.mark.django_db
ALL_RIGHT = {"readings_fine": "on", "inside_changed": "on", "inside_visible": "on"}


@pytest.fixture
def steriliser(cast: Cast) -> Equipment:
    return Equipment.objects.create(
        site=cast.lane, kind="steriliser", label="steriliser", in_service_from=REGISTER_START
    )


def release(cast: Cast, client: Any, unit: Equipment, **said: str) -> str:
    form = {"submission": str(uuid4()), "load": "0412"} | said
    page = f"/{cast.lane.code}/upkeep/equipment/{unit.pk}/load/"
    return client.post(page, form, follow=True).content.decode()


def test_a_load_with_its_monitors_is_released_and_listed(cast: Cast, signed_in: Any, steriliser: Equipment) -> None:
    page = release(cast, signed_in(cast.assistant), steriliser, **ALL_RIGHT)
    row = LoadReleased.objects.get()
    assert (row.load, row.by_outside, row.recorded_by) == ("0412", False, cast.assistant.person)
    assert "Load 0412 may be used." in page and "<b>Load 0412</b>" in page


@pytest.mark.parametrize(
    ("left_out", "says"),
    [
        ("readings_fine", "The mechanical readings are missing or out of range."),
        ("inside_changed", "The chemical indicator inside a pack is missing or did not change."),
        ("inside_visible", "The inside indicator cannot be seen, and the one outside is missing or did not change."),
    ],
)
def test_a_load_without_one_of_them_is_not_releasable(
    cast: Cast, signed_in: Any, steriliser: Equipment, left_out: str, says: str
) -> None:
    """CDC 2003 (W-17): mechanical readings, an indicator inside each pack, and outside where that cannot be seen."""
    said = {name: tick for name, tick in ALL_RIGHT.items() if name != left_out}
    page = release(cast, signed_in(cast.assistant), steriliser, **said)
    assert says in page and "reprocess it" in page and 'value="0412"' in page
    assert not LoadReleased.objects.exists()


def test_the_indicators_outside_speak_where_the_inside_cannot_be_seen(
    cast: Cast, signed_in: Any, steriliser: Equipment
) -> None:
    said = {"readings_fine": "on", "inside_changed": "on", "outside_changed": "on"}
    assert "by the indicators outside" in release(cast, signed_in(cast.assistant), steriliser, **said)


def test_everything_that_is_missing_is_said_at_once(cast: Cast, signed_in: Any, steriliser: Equipment) -> None:
    stop_unit(steriliser, "It leaks.", site=cast.lane, by=cast.owner.person)
    page = release(cast, signed_in(cast.assistant), steriliser)
    assert page.count("reprocess it") == 4  # readings, inside, outside, and a steriliser that is out of service


def test_a_load_sent_twice_is_released_once(cast: Cast, signed_in: Any, steriliser: Equipment) -> None:
    client, submission = signed_in(cast.assistant), str(uuid4())
    for _ in range(2):
        release(cast, client, steriliser, submission=submission, **ALL_RIGHT)
    assert LoadReleased.objects.count() == 1
