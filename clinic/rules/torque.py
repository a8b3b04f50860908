"""Torque drivers: limits, what a reading can be, and whether a verification passes.

When the next one is due is the upkeep clock of its task, and no other: 365 days or 5,000 cycles after the last pass,
whichever comes first. T-10 says 12 months or about 5,000 cycles; 365 days are never longer than 12 months, so the one
clock keeps both the row and the table of tasks. A failed check, a closed practice or a stop does not move it.

After ISO 6789-1:2017 as far as rows T-01 to T-14 could read it; the details marked "from memory" are to be checked in
the standard. The driver's own papers and the unit maker’s target torque come first. All sums are exact fractions.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from clinic.rules.torque_units import Exact, exact, rounded
from clinic.rules.words import out_of


class DriverClass(StrEnum):
    """Setting ("click") tools, Type II (T-01; some letters from memory)."""

    A = "A"
    B = "B"
    C = "C"
    D = "D"
    E = "E"
    F = "F"
    G = "G"


CLASS_SAYS = {
    DriverClass.A: "wrench, adjustable, with a scale",
    DriverClass.B: "wrench, fixed",
    DriverClass.C: "wrench, adjustable, without a scale",
    DriverClass.D: "screwdriver, adjustable, with a scale",
    DriverClass.E: "screwdriver, fixed",
    DriverClass.F: "screwdriver, adjustable, without a scale",
    DriverClass.G: "beam type, adjustable",
}

WRENCHES = frozenset({DriverClass.A, DriverClass.B, DriverClass.C})
SCALED = frozenset({DriverClass.A, DriverClass.D, DriverClass.G})


class DriverPaper(StrEnum):
    """What a driver's paper is (T-11): only the second gives an uncertainty."""

    DECLARATION = "declaration of conformance"
    CERTIFICATE = "calibration certificate"


def permissible_percent(driver: DriverClass, most: Exact, declared: Exact | None = None) -> Fraction:
    """The largest deviation allowed, in percent either way.

    6, or 4 for a wrench above 10 N·m; the maker's declared value where that is tighter. `most`: the driver's largest
    torque in N·m. ValueError unless it is above 0, or for a declared value that is not. Source: T-02 (classes other
    than A from memory), T-03.
    """
    largest = _positive("largest torque", most)
    limit = Fraction(4 if driver in WRENCHES and largest > 10 else 6)
    return limit if declared is None else min(limit, _positive("declared limit", declared))


def deviation_percent(set_value: Exact, reference: Exact) -> Fraction:
    """a = (Xa − Xr)/Xr × 100 in percent: set value against the reference's reading, both in one unit (T-04).

    ValueError unless both are above 0.
    """
    wanted, read = _positive("set torque", set_value), _positive("reference reading", reference)
    return (wanted - read) / read * 100


def window(set_value: Exact, percent: Exact) -> tuple[Fraction, Fraction]:
    """The reference readings that pass, ends included: Xa/(1 + limit) to Xa/(1 − limit), in the unit of the set value.

    ValueError unless the set value is above 0 and the limit between 0 and 100. Source: T-04.
    """
    wanted, limit = _positive("set torque", set_value), _positive("limit", percent) / 100
    if limit >= 1:
        raise ValueError(f"A limit of {percent} % leaves no window.")
    return wanted / (1 + limit), wanted / (1 - limit)


CONDITIONING_LOADS = 5
"""Loads at the largest (or fixed) torque before the first reading, in each direction tested (T-05)."""

LOAD_FROM_PERCENT = 80
"""Load steadily from about here to the target (T-06)."""

QUICKEST_LOAD, SLOWEST_LOAD = Decimal("0.5"), Decimal(4)
"""Seconds that a load from there to the target takes, ends included (T-06)."""

HOW_TO_LOAD = (
    f"Load it {CONDITIONING_LOADS} times first at its largest (or fixed) torque without recording, in each direction "
    f"that is tested. Then rise evenly: {QUICKEST_LOAD} to {SLOWEST_LOAD} seconds from about {LOAD_FROM_PERCENT} %; a "
    "reading that came quicker or slower does not count, so take it again."
)
"""What whoever reads the torque is told first (T-05, T-06)."""


def check_points(most: Exact, lowest_marked: Exact | None = None) -> tuple[Fraction, ...]:
    """20, 60 and 100 % of the largest torque, ascending, in its unit; the lowest marked value in place of the first.

    ValueError unless they ascend from above 0. Source: T-07 (2017: the lowest point is the lowest marked value).
    """
    largest = _positive("largest torque", most)
    lowest = largest / 5 if lowest_marked is None else _positive("lowest marked torque", lowest_marked)
    points = (lowest, largest * 3 / 5, largest)
    if not lowest < points[1]:
        raise ValueError(LOWEST_TOO_HIGH)
    return points


LOWEST_TOO_HIGH = "The lowest marked torque must be below 60 % of the largest."


def details_refusals(set_value: Exact, most: Exact, lowest_marked: Exact | None = None) -> dict[str, str]:
    """What is wrong with the torques of a driver's papers, by column; empty where nothing is.

    The lowest marked torque is the lowest test point and lies below the second, 60 % of the largest (T-07). ValueError
    for what is no torque. Whether there is a target at all is asked before (`target_refusals`).
    """
    wanted, largest = _positive("set torque", set_value), _positive("largest torque", most)
    wrong = {}
    if wanted > largest:
        wrong["set_torque"] = "It is above the largest torque of the driver. Check both."
    if lowest_marked is not None and not _positive("lowest marked torque", lowest_marked) < largest * 3 / 5:
        wrong["lowest_marked"] = f"{LOWEST_TOO_HIGH} Check both on its paper."
    return wrong


def readings_needed(driver: DriverClass) -> int:
    """Readings at each point: 5 for classes A, D, G, 10 at the one torque of the others (T-08, from memory)."""
    return 5 if driver in SCALED else 10


def points_needed(driver: DriverClass) -> int:
    """Test points: three for a driver with a scale, one for a fixed or unscaled one (T-07, T-08)."""
    return 3 if driver in SCALED else 1


@dataclass(frozen=True, slots=True)
class Room:
    """Temperatures of the room during a verification, °C."""

    lowest: Decimal
    highest: Decimal


ROOM_SWAPPED = "The highest is below the lowest. Check both: they look swapped."


def room_refusals(room: Room) -> list[str]:
    """What is wrong with the room: 18 to 28 °C, steady within ±1 °C (T-09). Empty when nothing is."""
    refusals = []
    if room.lowest > room.highest:
        refusals.append(ROOM_SWAPPED)
    if room.lowest < 18 or room.highest > 28:
        refusals.append(f"The room was {room.lowest} to {room.highest} °C; it must stay within 18 to 28 °C.")
    if room.highest - room.lowest > 2:
        refusals.append(f"The room moved by {room.highest - room.lowest} °C; it must stay within ±1 °C.")
    return refusals


@dataclass(frozen=True, slots=True)
class Reference:
    """The device that reads the torque: its own largest deviation in percent, and the last good day of its check."""

    percent: Decimal
    good_through: date


def reference_refusals(reference: Reference, day: date) -> list[str]:
    """What is wrong with the reference: at most 1 % of the reading, and in date (T-09). Empty when nothing is."""
    refusals = []
    if not 0 <= reference.percent <= 1:
        refusals.append(f"The reference is good to {reference.percent} %; 1 % or better is needed.")
    if day > reference.good_through:
        refusals.append(f"The reference was in date through {reference.good_through.isoformat()} only.")
    return refusals


@dataclass(frozen=True, slots=True)
class TorquePoint:
    """The readings of the reference at one set torque, in that torque's unit, as text or Decimal."""

    set_value: Decimal
    readings: tuple[Decimal, ...]


FACTOR = 5
"""A reading below a fifth of the set torque, or above five times as much, is a slip of the point and no torque that a
driver clicks at (common practice, no source)."""


def reading_refusal(set_value: Exact, reading: Exact) -> str | None:
    """Why this cannot be what the reference showed, or None. ValueError for a set torque that is not above 0."""
    wanted = _positive("set torque", set_value)
    try:
        read = exact(reading)
    except ValueError:
        return f"{reading} is not a number. Write what the reference showed, such as 12.3."
    if read <= 0:
        return f"{reading} is not above 0. Write what the reference showed, such as 12.3."
    if not wanted / FACTOR <= read <= wanted * FACTOR:
        return f"{reading} at {set_value} cannot be a reading. Look for a slip of the point."
    return None


def points_refusals(driver: DriverClass, points: Sequence[TorquePoint]) -> list[str]:
    """What keeps readings from being recorded as a check: fewer than asked (T-07, T-08), or one that cannot be one."""
    wrong = [says for p in points for read in p.readings if (says := reading_refusal(p.set_value, read))]
    return _missing_readings(driver, points) + wrong


@dataclass(frozen=True, slots=True)
class Verification:
    """A verification judged: every deviation in percent in the order read, and every reason why it does not pass.

    `outside`: some reading is beyond the limit, so that the driver itself is at fault and not only how it was read.
    """

    passed: bool
    limit: Fraction
    deviations: tuple[tuple[Fraction, ...], ...]
    reasons: tuple[str, ...]

    @property
    def outside(self) -> bool:
        return any(abs(off) > self.limit for found in self.deviations for off in found)


def verify(
    driver: DriverClass, points: Sequence[TorquePoint], limit: Fraction, day: date, reference: Reference, room: Room
) -> Verification:
    """Whether a driver passes: enough readings, every one inside (the mean is irrelevant), reference and room fit.

    `limit` from `permissible_percent`. ValueError for a reading or a set torque that is not above 0. Source: T-04,
    T-07 to T-09.
    """
    deviations = tuple(tuple(deviation_percent(p.set_value, reading) for reading in p.readings) for p in points)
    reasons = _missing_readings(driver, points)
    for point, found in zip(points, deviations, strict=True):
        reasons += [
            _outside(point, reading, off)
            for reading, off in zip(point.readings, found, strict=True)
            if abs(off) > limit
        ]
    reasons += reference_refusals(reference, day) + room_refusals(room)
    return Verification(not reasons, limit, deviations, tuple(reasons))


def _missing_readings(driver: DriverClass, points: Sequence[TorquePoint]) -> list[str]:
    reasons, each, distinct = [], readings_needed(driver), len({point.set_value for point in points})
    if distinct < points_needed(driver):
        reasons.append(f"Class {driver} is read at {points_needed(driver)} test points, not {distinct}.")
    short = [point for point in points if len(point.readings) < each]
    return reasons + [f"At {p.set_value}: {out_of(len(p.readings), each, 'reading')}." for p in short]


def _outside(point: TorquePoint, reading: Decimal, off: Fraction) -> str:
    return f"At {point.set_value}: a reading of {reading} is off by {rounded(off, 3)} %."


def target_refusals(target: Exact | None, source: str) -> dict[str, str]:
    """Why nothing can be tightened or verified to this target, by column; empty where it can: the unit maker sets it,
    and there is no default (T-14, D). ValueError for what is no number."""
    wrong = {}
    if target is None or target == "":
        wrong["set_torque"] = "Enter the maker’s figure: there is no default."
    elif exact(target) <= 0:
        wrong["set_torque"] = f"A target torque of {target} is not above 0."
    if not source.strip():
        wrong["target_source"] = "Say where it stands in the maker’s instructions."
    return wrong


def _positive(name: str, value: Exact) -> Fraction:
    number = exact(value)
    if number <= 0:
        raise ValueError(f"The {name} must be above 0, not {value}.")
    return number
