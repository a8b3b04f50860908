"""When a reading out of limits is good again, against every reading looked at one by one."""

from datetime import UTC, date, datetime, timedelta

import pytest

from clinic.rules.follow_ups import Good, Out, closed_on

DAY = date(2026, 3, 2)
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
HERE = ("line 1", "U12")
OUT = Out("out", HERE, "cfu", DAY, NOON)


def good(days: int = 1, read: int | None = None, hours: int = 24, **more: object) -> Good:
    said = {"place": HERE, "readings": frozenset({"cfu"})} | more
    sampled, known = DAY + timedelta(days=days), DAY + timedelta(days=days if read is None else read)
    return Good(sampled_on=sampled, known_on=known, recorded_at=NOON + timedelta(hours=hours), **said)


def test_it_is_closed_on_the_first_day_on_which_it_was_known_to_be_good() -> None:
    assert closed_on(OUT, []) is None
    assert closed_on(OUT, [good(5), good(2, read=4), good(3)]) == DAY + timedelta(days=3)


@pytest.mark.parametrize(
    ("reading", "closes"),
    [
        (good(0, hours=1), True),  # of the same day, recorded after it
        (good(0, hours=-1), False),
        (good(-1, read=3), False),  # sampled before the bad one was known
        (good(1, hours=-30), True),  # the bad one was entered late
        (good(place=("line 2", "U12")), False),
        (good(place=("line 1", "U13")), False),
        (good(readings=frozenset({"room"})), False),
        (good(readings=frozenset({"room", "cfu"})), True),
    ],
)
def test_only_a_good_sample_of_the_same_place_and_reading_after_it_closes_it(reading: Good, closes: bool) -> None:
    assert (closed_on(OUT, [reading]) is not None) is closes
