"""What a closure silences, against the timelines with and without it."""

from datetime import UTC, date, datetime, timedelta

import pytest

from clinic.rules.silenced import Compared, asks_reason, silenced
from clinic.rules.upkeep import upkeep_timeline
from clinic.rules.upkeep_facts import EquipmentLife, Pause, PauseReason, TaskRule

TODAY = date(2026, 3, 20)
DAY = timedelta(days=1)
RULE = TaskRule("U01", every_days=7, warn_days=1)


def compared(since: date, first: date, after: date) -> Compared:
    shut = Pause(id="p", day=first, after=after, why=PauseReason.CLOSED, recorded_at=datetime(2026, 3, 20, tzinfo=UTC))
    life = EquipmentLife(since)
    return Compared("Clean, unit 1", upkeep_timeline(RULE, life), upkeep_timeline(RULE, life, pauses=[shut]))


@pytest.mark.parametrize(
    ("first", "days", "asked"), [(0, 30, False), (0, 31, True), (-1, 1, True), (1, 1, False), (5, 400, True)]
)
def test_a_long_closure_and_one_that_reaches_back_ask_why(first: int, days: int, asked: bool) -> None:
    """More than 30 days (own choice); any day before today."""
    start = TODAY + first * DAY
    assert asks_reason(start, start + days * DAY, TODAY) is asked


def test_overdue_days_that_fall_away_are_counted() -> None:
    """In service on 1 March, good through the 8th: twelve days overdue by the 20th, of which the closed week is seven."""
    says = silenced([compared(date(2026, 3, 1), date(2026, 3, 9), date(2026, 3, 16))], TODAY)
    assert says == ["Clean, unit 1: 7 overdue days would be gone."]


def test_a_closure_that_changes_nothing_silences_nothing() -> None:
    assert silenced([compared(TODAY - 3 * DAY, TODAY + 40 * DAY, TODAY + 50 * DAY)], TODAY) == []


def test_a_closure_to_come_moves_the_last_good_day() -> None:
    says = silenced([compared(TODAY - 3 * DAY, TODAY + DAY, TODAY + 8 * DAY)], TODAY)
    assert says == ["Clean, unit 1: good through 31 March 2026 instead of 24 March 2026."]
