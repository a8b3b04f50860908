"""Tools and blocks: bad numbers are refused in words, and a counter that is not kept stays absent."""

from decimal import Decimal

import pytest

from clinic.rules.tools import (
    LifeCounter,
    Material,
    Tool,
    Way,
    Wear,
    after_replacement,
    after_use,
    enlargement_factor,
    factor_warnings,
    filter_wear,
    fired_size,
    judge_pair,
    milled_size,
    replace_because,
    shrinkage_of,
    volume_shrinkage,
)


@pytest.mark.parametrize("shrinkage", ["-0.1", "1", "20"])
def test_a_shrinkage_that_is_no_share_is_refused(shrinkage: str) -> None:
    for ask in (enlargement_factor, volume_shrinkage):
        with pytest.raises(ValueError, match="share from 0 to below 1"):
            ask(Decimal(shrinkage))


def test_a_factor_below_one_is_refused() -> None:
    small, one = Decimal("0.99"), Decimal(1)
    for ask in (
        lambda: shrinkage_of(small),
        lambda: milled_size(one, small),
        lambda: fired_size(one, small, one),
        lambda: fired_size(one, one, small),
    ):
        with pytest.raises(ValueError, match="1 or more"):
            ask()


def test_no_shrinkage_is_a_factor_of_one() -> None:
    assert enlargement_factor(Decimal(0)) == 1
    assert shrinkage_of(Decimal(1)) == 0


def test_a_factor_above_the_lots_ends_long() -> None:
    (warning,) = factor_warnings(Decimal("1.24"), Decimal("1.23"))
    assert "The lot says 1.23, not 1.24" in warning
    assert "81 µm long" in warning


def test_two_oddities_are_both_named() -> None:
    assert len(factor_warnings(Decimal("1.30"), Decimal("1.23"))) == 2


def test_a_verdict_names_what_was_found_and_what_is_needed() -> None:
    pair = (Tool.GRIT, Material.ZIRCONIA, Way.DRY)
    assert judge_pair(pair, {pair: False}).says == (
        "The unit maker's table forbids grit-coated grinder on pre-sintered zirconia, dry. Choose another tool."
    )
    assert "the unit maker's table allows it" in judge_pair(pair, {pair: True}).says
    assert "does not list it" in judge_pair(pair, {}).says


def test_a_fitting_dry_pair_says_nothing_of_drying() -> None:
    pair = (Tool.FLUTED, Material.ZIRCONIA, Way.DRY)
    assert judge_pair(pair, {pair: True}).says.endswith("zirconia, dry.")


COUNTER = LifeCounter("minutes", Decimal(50), Decimal(10))


def test_use_adds_up_and_the_share_falls() -> None:
    used = after_use(COUNTER, Decimal(15))
    assert (used.left, used.share_left) == (25, Decimal("0.5"))


def test_a_negative_use_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot be negative: -1 minutes"):
        after_use(COUNTER, Decimal(-1))


def test_without_a_counter_only_looks_ask_for_a_replacement() -> None:
    none = LifeCounter("", None)
    assert (none.left, none.share_left) == (None, None)
    assert replace_because(none, Decimal(0), False, False) == []
    assert replace_because(none, Decimal(0), True, False) == ["It is chipped."]
    assert replace_because(none, Decimal(0), False, True) == ["It leaves rough margins."]


def test_an_empty_position_is_named() -> None:
    with pytest.raises(ValueError, match="no tool at position 4; there are 1, 2"):
        after_replacement({"1": COUNTER, "2": COUNTER}, "4")
    with pytest.raises(ValueError, match="there are none"):
        after_replacement({}, "1")


def test_filter_marks_can_be_the_makers() -> None:
    assert filter_wear(50, marks=(40, 60)) is Wear.PLAN
    assert filter_wear(60, marks=(60, 60)) is Wear.DUE


@pytest.mark.parametrize("marks", [(0, 10), (20, 10)])
def test_filter_marks_out_of_order_are_refused(marks: tuple[int, int]) -> None:
    with pytest.raises(ValueError, match="plan mark"):
        filter_wear(5, marks)


def test_a_negative_count_of_parts_is_refused() -> None:
    with pytest.raises(ValueError, match="count cannot be negative"):
        filter_wear(-1)


def test_nothing_used_yet_is_in_time() -> None:
    assert filter_wear(0) is Wear.IN_TIME
    assert after_use(COUNTER, Decimal(0)) == COUNTER
    assert after_use(COUNTER, Decimal("0.5")).used == Decimal("10.5")
    assert LifeCounter("parts", Decimal(1), Decimal("0.5")).left == Decimal("0.5")
    assert LifeCounter("parts", Decimal(9)).left == 9
