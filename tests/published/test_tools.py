"""Handbook section 8 (rows Z-01 to Z-08, Z-11, Z-12): blocks, tools and counters.

Marks: V read in the source, R recomputed, C common practice with no source, D own design.
"""

from decimal import Decimal
from itertools import product

import pytest

from clinic.rules.tools import (
    Decision,
    LifeCounter,
    Material,
    MillingWay,
    Tool,
    factor_warnings,
    fired_size,
    judge_pair,
    shrinkage_of,
)

SHRINKAGES = [("1.2200", "0.18033"), ("1.2300", "0.18699"), ("1.2500", "0.20000"), ("1.20", "0.16667")]


@pytest.mark.parametrize(("factor", "shrinkage"), SHRINKAGES, ids=["Z-01 R", "Z-01 R", "Z-01 R", "Z-02 R trap"])
def test_the_shrinkage_of_a_factor(factor: str, shrinkage: str) -> None:
    assert round(shrinkage_of(Decimal(factor)), 5) == Decimal(shrinkage)


@pytest.mark.parametrize("entered", ["20", "1.09", "1.41", "0.20", "0"], ids="Z-02 D {}".format)
def test_what_cannot_be_a_factor_is_asked_about(entered: str) -> None:
    assert "looks like a shrinkage or a slip" in factor_warnings(Decimal(entered))[0]


@pytest.mark.parametrize("entered", ["1.2136", "1.2300", "1.2674"], ids="Z-03 V {}".format)
def test_factors_in_the_published_window_pass_quietly(entered: str) -> None:
    assert factor_warnings(Decimal(entered), Decimal(entered)) == []


@pytest.mark.parametrize("entered", ["1.10", "1.2135", "1.2675", "1.40"], ids="Z-03 V, D {}".format)
def test_factors_outside_it_ask_for_a_second_look(entered: str) -> None:
    (warning,) = factor_warnings(Decimal(entered))
    assert "1.2136 to 1.2674" in warning


def test_a_wrong_factor_costs_81_micrometres() -> None:
    """Z-05, R: a lot marked 1.2300 milled at 1.2200, a 10 mm span ends 9.9187 mm."""
    assert round(fired_size(Decimal(10), Decimal("1.2200"), Decimal("1.2300")), 4) == Decimal("9.9187")
    (warning,) = factor_warnings(Decimal("1.2200"), Decimal("1.2300"))
    assert "81 µm short" in warning


@pytest.mark.parametrize(
    ("entered", "warned"), [("1.2305", False), ("1.2306", True), ("1.2295", False), ("1.2294", True)]
)
def test_a_mismatch_is_warned_about_above_half_a_thousandth(entered: str, warned: bool) -> None:
    """Z-05, R."""
    assert bool(factor_warnings(Decimal(entered), Decimal("1.2300"))) is warned


FLUTED = (Tool.FLUTED, Tool.FLUTED_COATED)
AGAINST_DEFAULT = [
    *((Tool.GRIT, Material.ZIRCONIA, way) for way in MillingWay),
    *((Tool.GRIT, Material.POLYMER, way) for way in MillingWay),
    (Tool.GRIT, Material.GLASS_CERAMIC, MillingWay.DRY),
    *((tool, Material.GLASS_CERAMIC, way) for tool in FLUTED for way in MillingWay),
]
ALL_PAIRS = list(product(Tool, Material, MillingWay))


@pytest.mark.parametrize("pair", ALL_PAIRS, ids=str)
def test_what_the_makers_table_forbids_is_blocked(pair: tuple[Tool, Material, MillingWay]) -> None:
    """Z-07, Z-08, C: whatever the default says."""
    assert judge_pair(pair, {pair: False}).decision is Decision.BLOCK


@pytest.mark.parametrize("pair", AGAINST_DEFAULT, ids=str)
def test_a_pair_against_the_default_alone_only_warns(pair: tuple[Tool, Material, MillingWay]) -> None:
    """Z-07, Z-08, C: grit-coated × dry zirconia and fluted × glass-ceramic among them."""
    assert judge_pair(pair, {}).decision is Decision.WARN
    assert judge_pair(pair, {pair: True}).decision is Decision.WARN


@pytest.mark.parametrize("pair", [pair for pair in ALL_PAIRS if pair not in AGAINST_DEFAULT], ids=str)
def test_a_fitting_pair_is_asked_about_until_the_table_allows_it(pair: tuple[Tool, Material, MillingWay]) -> None:
    """Z-07, C: a pair not in the table asks."""
    assert judge_pair(pair, {}).decision is Decision.ASK
    assert judge_pair(pair, {pair: True}).decision is Decision.FITS


def test_zirconia_milled_wet_is_dried_before_the_furnace() -> None:
    """Z-08, C."""
    pair = (Tool.FLUTED, Material.ZIRCONIA, MillingWay.WET)
    assert "Dry it before the furnace" in judge_pair(pair, {pair: True}).says


def test_a_life_runs_from_a_hundred_to_nought() -> None:
    """Z-11, C."""
    lives = [LifeCounter("%", Decimal(100), Decimal(used)).left for used in (0, 40, 100, 130)]
    assert lives == [100, 60, 0, 0]
