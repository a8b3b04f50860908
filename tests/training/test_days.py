"""When somebody works: entered by whoever keeps the roster, used only for who can cover."""

from datetime import date
from typing import Any

import pytest

from clinic.models import Absence, Change
from tests.cast import Cast, Member
from tests.training.people_scene import noon


@pytest.fixture
def page(cast: Cast) -> Any:
    with noon():
        yield f"/millbrook-lane/people/{cast.assistant.person.pk}/days/"


def send(signed_in: Any, who: Member, page: str, **data: Any) -> Any:
    return signed_in(who).post(page, data)


def away(signed_in: Any, cast: Cast, page: str, first: str, last: str) -> Any:
    return send(signed_in, cast.coordinator, page, away="1", from_day=first, to_day=last)


def test_the_days_of_the_week_are_kept_and_noted(signed_in: Any, cast: Cast, page: str) -> None:
    assert send(signed_in, cast.coordinator, page, week="1", days=["0", "3"]).status_code == 302
    cast.assistant.person.refresh_from_db()
    assert cast.assistant.person.working_days == "1001000"
    assert Change.objects.filter(said="Working days of Wren Adeyemi changed").count() == 1


def test_the_days_of_the_site_are_kept_as_the_site_works(signed_in: Any, cast: Cast, page: str) -> None:
    send(signed_in, cast.coordinator, page, week="1", days=["0"])
    send(signed_in, cast.coordinator, page, week="1", days=["0", "1", "2", "3", "4"])
    cast.assistant.person.refresh_from_db()
    assert cast.assistant.person.working_days == ""


def test_a_week_without_a_day_is_refused(signed_in: Any, cast: Cast, page: str) -> None:
    assert "Choose at least one day." in send(signed_in, cast.coordinator, page, week="1").content.decode()


def test_days_away_are_entered_and_taken_away(signed_in: Any, cast: Cast, page: str) -> None:
    away(signed_in, cast, page, "10 Mar 2025", "14 Mar 2025")
    absence = Absence.objects.get()
    assert (absence.from_day, absence.to_day) == (date(2025, 3, 10), date(2025, 3, 14))
    assert send(signed_in, cast.coordinator, page, not_away=absence.pk).status_code == 302
    assert not Absence.objects.exists()
    assert Change.objects.filter(said__contains="not away from 10 Mar 2025 after all").count() == 1


@pytest.mark.parametrize(
    ("first", "last", "says"),
    [
        ("14 Mar 2025", "10 Mar 2025", "It ends before it starts."),
        ("the 3rd", "10 Mar 2025", "Write the day with the month’s name"),
        ("12 Mar 2025", "20 Mar 2025", "is away already from 10 Mar 2025 through 14 Mar 2025"),
    ],
)
def test_wrong_days_away_are_refused_and_stay_typed(
    signed_in: Any, cast: Cast, page: str, first: str, last: str, says: str
) -> None:
    away(signed_in, cast, page, "10 Mar 2025", "14 Mar 2025")
    text = away(signed_in, cast, page, first, last).content.decode()
    assert says in text and f'value="{first}"' in text
    assert Absence.objects.count() == 1


def test_sent_twice_it_is_entered_once(signed_in: Any, cast: Cast, page: str) -> None:
    for _ in range(2):
        away(signed_in, cast, page, "10 Mar 2025", "14 Mar 2025")
    assert Absence.objects.count() == 1


def test_only_whoever_keeps_the_roster_may(signed_in: Any, cast: Cast, page: str) -> None:
    assert send(signed_in, cast.assistant, page, week="1", days=["0"]).status_code == 403
    assert send(signed_in, cast.elsewhere, page, week="1", days=["0"]).status_code == 404


@pytest.mark.parametrize("key", ["x", "99999", ""])
def test_an_absence_of_somebody_else_is_not_there(signed_in: Any, cast: Cast, page: str, key: str) -> None:
    Absence.objects.create(person=cast.second.person, from_day=date(2025, 3, 10), to_day=date(2025, 3, 14))
    assert send(signed_in, cast.coordinator, page, not_away=key).status_code == 404


def test_somebody_of_another_site_is_not_there(signed_in: Any, cast: Cast) -> None:
    other = f"/millbrook-lane/people/{cast.elsewhere.person.pk}/days/"
    assert signed_in(cast.coordinator).get(other).status_code == 404
