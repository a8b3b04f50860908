"""Tools and blocks: bad numbers are refused in words, and a counter that is not kept stays absent."""

from decimal import Decimal

import pytest

from clinic.rules.tools import (
    LifeCounter,
    Material,
    MillingWay,
    Tool,
    factor_warnings,
    fired_size,
    judge_pair,
    shrinkage_of,
)


def test_a_factor_above_the_lots_ends_long() -> None:
    (warning,) = factor_warnings(Decimal("1.24"), Decimal("1.23"))
    assert "The lot says 1.23, not 1.24" in warning
    assert "81 µm long" in warning


def test_two_oddities_are_both_named() -> None:
    assert len(factor_warnings(Decimal("1.30"), Decimal("1.23"))) == 2


def test_a_verdict_names_what_was_found_and_what_is_needed() -> None:
    pair = (Tool.GRIT, Material.ZIRCONIA, MillingWay.DRY)
    assert judge_pair(pair, {pair: False}).says == (
        "The unit maker’s table forbids grit-coated grinder on pre-sintered zirconia, dry. Choose another tool."
    )
    assert "the unit maker’s table allows it" in judge_pair(pair, {pair: True}).says
    assert "does not list it" in judge_pair(pair, {}).says


def test_a_fitting_dry_pair_says_nothing_of_drying() -> None:
    pair = (Tool.FLUTED, Material.ZIRCONIA, MillingWay.DRY)
    assert judge_pair(pair, {pair: True}).says.endswith("zirconia, dry.")


COUNTER = LifeCounter("minutes", Decimal(50), Decimal(10))


def test_a_factor_below_one_is_refused() -> None:
    small, one = Decimal("0.99"), Decimal(1)
    for ask in (
        lambda: shrinkage_of(small),
        lambda: fired_size(one, small, one),
        lambda: fired_size(one, one, small),
    ):
        with pytest.raises(ValueError, match="1 or more"):
            ask()


def test_a_factor_of_one_does_not_shrink() -> None:
    assert shrinkage_of(Decimal(1)) == 0


def test_the_share_of_a_life_falls_as_it_is_used() -> None:
    used = LifeCounter("minutes", Decimal(50), Decimal(25))
    assert (used.left, used.share_left) == (25, Decimal("0.5"))
    assert LifeCounter("parts", Decimal(1), Decimal("0.5")).left == Decimal("0.5")


def test_without_a_counter_nothing_is_said_of_what_is_left() -> None:
    none = LifeCounter("", None)
    assert (none.left, none.share_left) == (None, None)
