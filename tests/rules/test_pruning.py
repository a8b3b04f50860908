"""Which copies stay: seven days, five weeks, twelve months (own choice), against a slow twin that asks each copy alone."""

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from clinic.rules.pruning import DAYS, MONTHS, WEEKS, kept_of

START = datetime(2026, 1, 1, 2, tzinfo=UTC)
INSTANTS = st.sets(st.integers(0, 900 * 24).map(lambda hours: START + timedelta(hours=hours)), max_size=80)


def stays(one: datetime, made: set[datetime]) -> bool:
    """It is the newest of its day, week or month, and fewer than so many later ones have a copy."""
    rules = [
        (DAYS, lambda each: each.strftime("%Y-%j")),
        (WEEKS, lambda each: each.strftime("%G-%V")),
        (MONTHS, lambda each: each.strftime("%Y-%m")),
    ]
    return any(
        one == max(each for each in made if name(each) == name(one))
        and len({name(each) for each in made if name(each) > name(one)}) < most
        for most, name in rules
    )


@given(INSTANTS)
def test_each_stays_by_the_rule_asked_of_it_alone(made: set[datetime]) -> None:
    assert kept_of(made) == {one for one in made if stays(one, made)}


def test_after_two_years_of_nights_about_twenty_are_left() -> None:
    left: set[datetime] = set()
    for night in range(730):
        left = kept_of({*left, START + timedelta(days=night)})
    last = START + timedelta(days=729)
    assert len(left) <= DAYS + WEEKS + MONTHS
    assert {last - timedelta(days=ago) for ago in range(DAYS)} <= left
    assert len({each.strftime("%Y-%m") for each in left}) == MONTHS


def test_pruning_twice_removes_nothing_more() -> None:
    left = kept_of({START + timedelta(days=night) for night in range(400)})
    assert kept_of(left) == left


def test_the_newest_always_stays_and_none_is_made_up() -> None:
    assert kept_of([]) == set()
    assert kept_of([START]) == {START}
