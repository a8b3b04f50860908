"""Units of torque, converted without losing a digit.

All sums are exact fractions; a decimal is made only to be shown.
"""

from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum
from fractions import Fraction
from typing import TypeAlias

Exact: TypeAlias = int | str | Decimal | Fraction
"""A number without rounding: never a float."""

POUND_FORCE = Fraction("0.45359237") * Fraction("9.80665")
INCH = Fraction("0.0254")


class Unit(StrEnum):
    """Units of torque as they are written on a page (T-13: N·cm, not "Ncm"; never joule)."""

    NEWTON_METRE = "N·m"
    NEWTON_CENTIMETRE = "N·cm"
    POUND_INCH = "lbf·in"
    OUNCE_INCH = "ozf·in"
    POUND_FOOT = "lbf·ft"
    KILOGRAM_CENTIMETRE = "kgf·cm"


NEWTON_METRES: dict[Unit, Fraction] = {
    Unit.NEWTON_METRE: Fraction(1),
    Unit.NEWTON_CENTIMETRE: Fraction(1, 100),
    Unit.POUND_INCH: POUND_FORCE * INCH,
    Unit.OUNCE_INCH: POUND_FORCE * INCH / 16,
    Unit.POUND_FOOT: POUND_FORCE * INCH * 12,
    Unit.KILOGRAM_CENTIMETRE: Fraction("0.0980665"),
}
"""N·m in one of each unit, exact (NIST SP 811, appendix B; T-12)."""


def exact(value: Exact) -> Fraction:
    """The number as a fraction. ValueError names a text that is no number; TypeError for a float."""
    if isinstance(value, float):
        raise TypeError("A torque is given as text or Decimal, so that no digit is lost.")
    try:
        return Fraction(value)
    except (ValueError, OverflowError, ZeroDivisionError) as problem:
        raise ValueError(f"{value} is not a number.") from problem


def convert(value: Exact, unit: Unit, into: Unit) -> Fraction:
    """The same torque in another unit, exactly (T-12). ValueError as `exact`."""
    return exact(value) * NEWTON_METRES[unit] / NEWTON_METRES[into]


def rounded(value: Fraction, places: int) -> Decimal:
    """The fraction as a decimal with so many places, halves away from zero, for showing only."""
    scaled = abs(value) * 10**places
    digits = (Decimal(scaled.numerator) / Decimal(scaled.denominator)).quantize(Decimal(1), ROUND_HALF_UP)
    return (digits if value >= 0 else -digits).scaleb(-places)
