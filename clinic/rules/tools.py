"""Milling tools and blocks: enlargement factors, which tool for which material, and counters.

The unit maker’s instructions win over every default here; a default only warns.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import TypeAlias

TYPO_BELOW, TYPO_ABOVE = Decimal("1.10"), Decimal("1.40")
"""Enlargement factors outside these are taken for a slip of the pen (own rule, D; Z-02)."""

PUBLISHED_FROM, PUBLISHED_TO = Decimal("1.2136"), Decimal("1.2674")
"""Factors of 17.6 to 21.1 % linear shrinkage (Materials 2025, 18(14):3217; Z-03): outside them, look again."""

MISMATCH = Decimal("0.0005")
"""A factor entered that differs from its lot's by more than this is warned about (Z-05)."""


def shrinkage_of(factor: Decimal) -> Decimal:
    """s = 1 − 1/EF, a share: EF 1.20 is 16.667 %, not 20 %. ValueError for a factor below 1. Source: Z-01, Z-02."""
    _refuse_factor(factor)
    return 1 - 1 / factor


def fired_size(wanted: Decimal, factor_used: Decimal, lot_factor: Decimal) -> Decimal:
    """Where a part ends that was milled with one factor from a lot that needs another: wanted × used/lot. Z-05."""
    _refuse_factor(factor_used)
    _refuse_factor(lot_factor)
    return wanted * factor_used / lot_factor


def factor_warnings(entered: Decimal, lot_factor: Decimal | None = None) -> list[str]:
    """What is odd about an entered enlargement factor; empty when nothing is (Z-02, Z-03, Z-05)."""
    if not TYPO_BELOW <= entered <= TYPO_ABOVE:
        return [f"{entered} looks like a shrinkage or a slip: a factor lies between {TYPO_BELOW} and {TYPO_ABOVE}."]
    warnings = []
    if not PUBLISHED_FROM <= entered <= PUBLISHED_TO:
        warnings.append(
            f"{entered} lies outside the published {PUBLISHED_FROM} to {PUBLISHED_TO}: look at the packet again."
        )
    if lot_factor is not None and abs(entered - lot_factor) > MISMATCH:
        off = fired_size(Decimal(10000), entered, lot_factor) - 10000
        warnings.append(
            f"The lot says {lot_factor}, not {entered}: a 10 mm span would end {abs(off):.0f} µm {_side(off)}."
        )
    return warnings


def _side(off: Decimal) -> str:
    return "short" if off < 0 else "long"


def _refuse_factor(factor: Decimal) -> None:
    if factor < 1:
        raise ValueError(f"An enlargement factor is 1 or more, not {factor}.")


class Tool(StrEnum):
    """Kinds of milling tool, read from the printed code on tool, holder and packet (Z-07, Z-08)."""

    GRIT = "grit-coated grinder"
    FLUTED = "fluted cutter"
    FLUTED_COATED = "fluted cutter, coated"


class Material(StrEnum):
    """Kinds of material."""

    GLASS_CERAMIC = "glass-ceramic"
    ZIRCONIA = "pre-sintered zirconia"
    POLYMER = "polymer or wax"


class MillingWay(StrEnum):
    """How it is milled."""

    WET = "wet"
    DRY = "dry"


MATERIALS = [material.value for material in Material]
WAYS: dict[str, bool | None] = {"wet": True, "dry": False, "": None}
"""As files and forms write it: whether it was wet."""

Pair: TypeAlias = tuple[Tool, Material, MillingWay]

_FLUTED_PAIRS = {
    (tool, material, way)
    for tool in (Tool.FLUTED, Tool.FLUTED_COATED)
    for material in (Material.ZIRCONIA, Material.POLYMER)
    for way in MillingWay
}
DEFAULT_PAIRS: frozenset[Pair] = frozenset({(Tool.GRIT, Material.GLASS_CERAMIC, MillingWay.WET)} | _FLUTED_PAIRS)
"""Pairs that fit by default (common practice, no source; Z-07, Z-08)."""


class Decision(StrEnum):
    """What the swap page does: go on, ask first, warn, or block."""

    FITS = "fits"
    ASK = "ask"
    WARN = "warn"
    BLOCK = "block"


@dataclass(frozen=True, slots=True)
class PairVerdict:
    """The decision on one pair, and the sentence for whoever stands there."""

    decision: Decision
    says: str


def judge_pair(pair: Pair, makers: Mapping[Pair, bool]) -> PairVerdict:
    """Whether this tool may mill this material this way (Z-07, Z-08; common practice).

    `makers`: the unit maker’s table as the site entered it, True allowed and False forbidden; what the site itself
    forbids stands there too. Forbidden → block; against the default only → warn; not in the table → ask.
    """
    tool, material, way = pair
    name, allowed = f"{tool} on {material}, {way}", makers.get(pair)
    if allowed is False:
        return PairVerdict(Decision.BLOCK, f"The unit maker’s table forbids {name}. Choose another tool.")
    if pair not in DEFAULT_PAIRS:
        table = "the unit maker’s table allows it" if allowed else "the unit maker’s table does not list it"
        return PairVerdict(Decision.WARN, f"Unusual: {name}; {table}. Check the code on tool, holder and packet.")
    if allowed is None:
        return PairVerdict(Decision.ASK, f"The unit maker’s table does not list {name}. Ask before you mill.")
    return PairVerdict(Decision.FITS, f"The unit maker’s table allows {name}.{_and_dry(pair)}")


def _and_dry(pair: Pair) -> str:
    return " Dry it before the furnace." if pair[1:] == (Material.ZIRCONIA, MillingWay.WET) else ""


@dataclass(frozen=True, slots=True)
class LifeCounter:
    """The life of one mounted tool as the unit or the site keeps it: percent, parts or minutes (Z-11).

    `full`: the life of a new tool; None where the unit keeps no counter.
    """

    unit: str
    full: Decimal | None
    used: Decimal = Decimal(0)

    @property
    def left(self) -> Decimal | None:
        """What is left, never below 0; None without a counter."""
        return None if self.full is None else max(Decimal(0), self.full - self.used)

    @property
    def share_left(self) -> Decimal | None:
        """What is left as a share of a full life, 1 to 0; None without a counter."""
        return None if self.full is None or self.left is None else self.left / self.full
