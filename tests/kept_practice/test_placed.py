"""The kept practice in other weeks of the calendar: over a leap day, over changes to summer time, over ends of years."""

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from django.db import transaction

from clinic.models import Seal, Site
from clinic.replay import replayed
from clinic.seals import check_site
from tests.kept_practice.taking_up import kept, taken_up
from training.demo.setting_up import Cast
from training.models import SignOff
from training.rules.facts import Signed
from training.spans import computed, differences

pytestmark = pytest.mark.django_db
A_WINTERS_MONDAY, A_LEAP_YEARS_SUNDAY = date(2027, 1, 4), date(2028, 7, 2)


@pytest.fixture(scope="module", params=[A_WINTERS_MONDAY, A_LEAP_YEARS_SUNDAY], ids=str)
def placed_once(request: pytest.FixtureRequest, django_db_setup: None, django_db_blocker: Any) -> Iterator[Cast]:
    with django_db_blocker.unblock(), transaction.atomic():
        yield taken_up(request.param)
        transaction.set_rollback(True)


@pytest.fixture
def placed(placed_once: Cast, db: None) -> Cast:
    """The practice as it is taken up, to be played on up to a day."""
    return placed_once


def test_wherever_it_is_placed_its_record_is_whole(placed: Cast) -> None:
    assert [check_site(site) for site in placed.sites.values()] == [[], []]
    assert list(replayed()) == []
    assert Seal.objects.count() > 6000


def test_every_sign_off_lasts_as_long_there_as_the_rule_says(placed: Cast) -> None:
    rule = {
        life.fact.id: life.valid_until
        for standings in computed(placed.organisation, list(placed.people.values())).values()
        for standing in standings.values()
        for life in standing.signoffs
        if isinstance(life.fact, Signed)
    }
    rows = {str(key): until for key, until in SignOff.objects.values_list("pk", "valid_until")}
    assert len(rows) > 400
    assert rows == {key: rule[key] for key in rows}
    assert differences(placed.organisation) == []


def test_every_act_is_at_the_hour_at_which_somebody_works(placed: Cast) -> None:
    """In July and in December, whichever of them it was in when it was kept."""
    for site in Site.objects.all():
        acts = [seal.recorded_at.astimezone(placed.scenario.zone) for seal in site.seals.all()]
        assert {act.weekday() for act in acts} <= {0, 1, 2, 3, 4, 5}  # one entry is written down on a Saturday
        assert min(act.hour for act in acts) == 8 and max(act.hour for act in acts) == 18


def test_what_belongs_to_one_machine_is_not_kept() -> None:
    labels = set(kept().said["tables"])
    assert len(labels) > 50
    assert not labels & {"clinic.account", "clinic.invitation", "clinic.checkpoint", "clinic.seal", "training.issue"}
