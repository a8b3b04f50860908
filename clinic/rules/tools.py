"""Milling tools and blocks: enlargement factors, which tool for which material, and counters.

The unit maker's instructions win over every default here; a default only warns.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from typing import TypeAlias

TYPO_BELOW, TYPO_ABOVE = Decimal("1.10"), Decimal("1.40")
"""Enlargement factors outside these are taken for a slip of the pen (own rule, D; Z-02)."""

PUBLISHED_FROM, PUBLISHED_TO = Decimal("1.2136"), Decimal("1.2674")
"""Factors of 17.6 to 21.1 % linear shrinkage (Materials 2025, 18(14):3217; Z-03): outside them, look again."""

MISMATCH = Decimal("0.0005")
"""A factor entered that differs from its lot's by more than this is warned about (Z-05)."""


def enlargement_factor(shrinkage: Decimal) -> Decimal:
    """EF = 1/(1 − s), no unit; s = linear shrinkage as a share. ValueError unless 0 ≤ s < 1. Source: Z-01."""
    if not 0 <= shrinkage < 1:
        raise ValueError(f"A shrinkage is a share from 0 to below 1, not {shrinkage}.")
    return 1 / (1 - shrinkage)


def shrinkage_of(factor: Decimal) -> Decimal:
    """s = 1 − 1/EF, a share: EF 1.20 is 16.667 %, not 20 %. ValueError for a factor below 1. Source: Z-01, Z-02."""
    _refuse_factor(factor)
    return 1 - 1 / factor


def volume_shrinkage(shrinkage: Decimal) -> Decimal:
    """1 − (1 − s)³, a share: 48.8 % at s = 0.20. ValueError unless 0 ≤ s < 1. Source: Z-02."""
    if not 0 <= shrinkage < 1:
        raise ValueError(f"A shrinkage is a share from 0 to below 1, not {shrinkage}.")
    return 1 - (1 - shrinkage) ** 3


def milled_size(final: Decimal, factor: Decimal) -> Decimal:
    """The size before firing of a part that ends at `final`, in its unit: final × EF. Source: Z-06."""
    _refuse_factor(factor)
    return final * factor


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


class Way(StrEnum):
    """How it is milled."""

    WET = "wet"
    DRY = "dry"


Pair: TypeAlias = tuple[Tool, Material, Way]

_FLUTED_PAIRS = {
    (tool, material, way)
    for tool in (Tool.FLUTED, Tool.FLUTED_COATED)
    for material in (Material.ZIRCONIA, Material.POLYMER)
    for way in Way
}
DEFAULT_PAIRS: frozenset[Pair] = frozenset({(Tool.GRIT, Material.GLASS_CERAMIC, Way.WET)} | _FLUTED_PAIRS)
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

    `makers`: the unit maker's table as the site entered it, True allowed and False forbidden; what the site itself
    forbids stands there too. Forbidden → block; against the default only → warn; not in the table → ask.
    """
    tool, material, way = pair
    name, allowed = f"{tool} on {material}, {way}", makers.get(pair)
    if allowed is False:
        return PairVerdict(Decision.BLOCK, f"The unit maker's table forbids {name}. Choose another tool.")
    if pair not in DEFAULT_PAIRS:
        table = "the unit maker's table allows it" if allowed else "the unit maker's table does not list it"
        return PairVerdict(Decision.WARN, f"Unusual: {name}; {table}. Check the code on tool, holder and packet.")
    if allowed is None:
        return PairVerdict(Decision.ASK, f"The unit maker's table does not list {name}. Ask before you mill.")
    return PairVerdict(Decision.FITS, f"The unit maker's table allows {name}.{_and_dry(pair)}")


def _and_dry(pair: Pair) -> str:
    return " Dry it before the furnace." if pair[1:] == (Material.ZIRCONIA, Way.WET) else ""


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


def after_use(counter: LifeCounter, amount: Decimal) -> LifeCounter:
    """The counter after milling. ValueError for a negative amount."""
    if amount < 0:
        raise ValueError(f"A use cannot be negative: {amount} {counter.unit}.")
    return replace(counter, used=counter.used + amount)


def after_replacement(counters: Mapping[str, LifeCounter], position: str) -> dict[str, LifeCounter]:
    """All counters after the tool at one position was replaced: that one is new, the others run on (Z-11).

    ValueError names a position that holds no tool.
    """
    if position not in counters:
        raise ValueError(f"There is no tool at position {position}; there are {', '.join(counters) or 'none'}.")
    return {**counters, position: replace(counters[position], used=Decimal(0))}


def replace_because(counter: LifeCounter, set_point: Decimal, chipped: bool, rough_margins: bool) -> list[str]:
    """Every reason to replace a tool now; empty when there is none (Z-11, common practice).

    `set_point`: what must be left, in the counter's unit, as the site set it.
    """
    reasons = []
    if counter.left is not None and counter.left <= set_point:
        reasons.append(f"{counter.left} {counter.unit} left, set point {set_point}.")
    if chipped:
        reasons.append("It is chipped.")
    if rough_margins:
        reasons.append("It leaves rough margins.")
    return reasons


class Wear(StrEnum):
    """How far a counter has run."""

    IN_TIME = "in time"
    PLAN = "plan"
    DUE = "due"


SUCTION_FILTER = (100, 120)
"""Planning figure in zirconia crowns where the maker gives none: plan at the first, due at the second (Z-12)."""


def filter_wear(count: int, marks: tuple[int, int] = SUCTION_FILTER, low_flow: bool = False) -> Wear:
    """How a filter stands by its count; a low-flow warning makes it due at any count (Z-12, common practice).

    ValueError for a negative count, or marks in the wrong order.
    """
    plan, due = marks
    if count < 0:
        raise ValueError(f"A count cannot be negative: {count}.")
    if not 0 < plan <= due:
        raise ValueError(f"The plan mark {plan} must be above 0 and not after the due mark {due}.")
    if low_flow or count >= due:
        return Wear.DUE
    return Wear.PLAN if count >= plan else Wear.IN_TIME
