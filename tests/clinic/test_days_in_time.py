"""The page of days in time: by task, by unit, between any two days."""

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clinic.actions.readings import DoneTask, log_work
from clinic.actions.upkeep import log_use
from clinic.models import Equipment
from clinic.reads.days_in_time import site_days
from tests.cast import REGISTER_START, Cast

pytestmark = pytest.mark.django_db
TODAY = date.today()
DAY = timedelta(days=1)


def page(cast: Cast, client: Any, **days: str) -> str:
    return client.get(f"/{cast.lane.code}/upkeep/in-time/", days).content.decode()


def log(cast: Cast, day: date) -> None:
    who = cast.supervisor.person
    readings = {"tools": "yes", "warm": "20", "grown": "1"}
    log_work(DoneTask(cast.task, cast.unit, cast.lane, who, day, readings=readings, id=uuid4()), by=who)


def test_the_days_are_counted_from_the_first_in_service(cast: Cast) -> None:
    """Every 7 days: eight good days (the first and seven more), then overdue."""
    found = site_days(cast.lane, REGISTER_START - 5 * DAY, REGISTER_START + 9 * DAY, TODAY)
    assert (found.days.good, found.days.overdue) == (8, 2)


def test_an_entry_ends_the_overdue_days(cast: Cast) -> None:
    log(cast, REGISTER_START + 9 * DAY)
    found = site_days(cast.lane, REGISTER_START, REGISTER_START + 10 * DAY, TODAY)
    assert found.units[0].tracks[0].late == [f"{REGISTER_START + 8 * DAY:%-d %B %Y}, 1 day"]
    assert found.sentence == "In time on 10 of 11 task days; 1 task day was overdue."


def test_the_page_says_it_in_words_beside_the_picture(cast: Cast, signed_in: Any) -> None:
    said = page(cast, signed_in(cast.assistant), first="6 Jan 2025", last="20 Jan 2025")
    assert "In time on 8 of 15 task days; 7 task days were overdue." in said
    assert "14 January 2025 through 20 January 2025, 7 days" in said


def test_the_page_forecasts_a_range(cast: Cast, signed_in: Any) -> None:
    """S-74 (own rule): a range, never a single day."""
    log_use(cast.unit, 3, site=cast.lane, by=cast.assistant.person, day=TODAY)
    assert "(90 % range)" in page(cast, signed_in(cast.assistant))


@pytest.mark.parametrize(
    ("first", "last", "says"),
    [
        ("6 Jan 2025", "1 Jan 2099", "That day has not come. Choose today or earlier."),
        ("6 Feb 2025", "6 Jan 2025", "It begins after it ends. Choose an earlier day."),
        ("1 Jan 1900", "6 Jan 2025", "That is more than ten years. Choose a later day."),
        ("soon", "6 Jan 2025", "Write the day with the month’s name"),
    ],
)
def test_wrong_days_are_refused_by_name_and_kept(cast: Cast, signed_in: Any, first: str, last: str, says: str) -> None:
    said = page(cast, signed_in(cast.assistant), first=first, last=last)
    assert says in said
    assert f'value="{first}"' in said


def test_before_any_unit_was_in_service_there_is_no_share(cast: Cast, signed_in: Any) -> None:
    said = page(cast, signed_in(cast.assistant), first="1 Jan 2020", last="2 Jan 2020")
    assert "No task day lies between these days." in said


def test_ten_units_ask_the_database_as_much_as_one(cast: Cast) -> None:
    def asks() -> int:
        with CaptureQueriesContext(connection) as seen:
            site_days(cast.lane, REGISTER_START, TODAY, TODAY)
        return len(seen)

    one = asks()
    for number in range(9):
        Equipment.objects.create(
            site=cast.lane, kind="milling unit", label=f"more {number}", in_service_from=REGISTER_START
        )
    assert asks() == one
