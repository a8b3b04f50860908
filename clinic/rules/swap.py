"""A tool swap: everything that stands in its way, at once, each naming what was found and what is needed.

The unit maker’s instructions come first. What was seen at the unit decides, not what the page says.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from clinic.rules.tools import Decision, Material, MillingWay, Pair, Tool, judge_pair
from clinic.rules.words import counted


@dataclass(frozen=True, slots=True)
class NewTool:
    """The tool to be set in. `positions`: where it may sit; empty: anywhere. `gone`: why it was taken out for good."""

    name: str
    kind: Tool
    seat: str
    positions: tuple[str, ...] = ()
    mounted_in: str = ""
    gone: str = ""


@dataclass(frozen=True, slots=True)
class Driver:
    """A torque driver as it stands today. `refused`: why it may not be used; empty where it may."""

    name: str
    seat: str
    refused: str = ""


@dataclass(frozen=True, slots=True)
class Swap:
    """A swap as it was filled in. `clicked` is None where the tool is not tightened with a torque driver.

    `tool` and `pair` are None where a tool is only taken out.
    """

    still: bool
    nobody_can_start: bool
    protected: bool
    position: str
    tool: NewTool | None
    driver: Driver | None
    clicked: bool | None
    counted_out: int
    counted_in: int
    pair: tuple[Material, MillingWay] | None


@dataclass(frozen=True, slots=True)
class InTheWay:
    """One reason against the swap: its field, what was found, and what is needed."""

    field: str
    found: str
    needed: str


def in_the_way(swap: Swap, drivers: Sequence[Driver], makers: Mapping[Pair, bool]) -> list[InTheWay]:
    """All reasons in the order of the work; empty where the swap may go on. `drivers`: every one at the site."""
    return [*_not_safe(swap), *badly_chosen(swap, drivers, makers), *_no_click(swap), *_miscounted(swap)]


def badly_chosen(swap: Swap, drivers: Sequence[Driver], makers: Mapping[Pair, bool]) -> list[InTheWay]:
    """What is wrong with position, tool, material and driver: known before the door is opened."""
    return [*_wrong_place(swap), *_forbidden(swap, makers), *_wrong_driver(swap, drivers)]


def warnings(swap: Swap, makers: Mapping[Pair, bool]) -> list[str]:
    """What only warns: a pair outside the default, or one that the maker's table does not list (Z-07, Z-08)."""
    if swap.tool is None or swap.pair is None:
        return []
    verdict = judge_pair((swap.tool.kind, *swap.pair), makers)
    return [verdict.says] if verdict.decision in (Decision.WARN, Decision.ASK) else []


def _not_safe(swap: Swap) -> list[InTheWay]:
    asked = [
        (
            "still",
            swap.still,
            "Something may still move.",
            "Wait until every spindle stands still, and bring the unit to its park position.",
        ),
        (
            "nobody_can_start",
            swap.nobody_can_start,
            "Somebody could start a job.",
            "Make sure that nobody can start one from elsewhere.",
        ),
        ("protected", swap.protected, "Hands and eyes are not protected.", "Put on cut-resistant gloves and eyewear."),
    ]
    return [InTheWay(field, found, needed) for field, done, found, needed in asked if not done]


def _wrong_place(swap: Swap) -> list[InTheWay]:
    tool = swap.tool
    if tool is None:
        return []
    found = []
    if tool.positions and swap.position not in tool.positions:
        needed = f"It belongs into position {' or '.join(tool.positions)}: check the code and the job."
        found.append(InTheWay("position", f"{tool.name} does not belong into position {swap.position}.", needed))
    if tool.gone:
        needed = "It belongs into the tub. Take another tool."
        found.append(InTheWay("tool", f"{tool.name} was taken out for good: {tool.gone}.", needed))
    if tool.mounted_in:
        found.append(
            InTheWay(
                "tool",
                f"{tool.name} already sits in {tool.mounted_in}.",
                "Take it out there first, or choose another tool.",
            )
        )
    return found


def _forbidden(swap: Swap, makers: Mapping[Pair, bool]) -> list[InTheWay]:
    if swap.tool is None or swap.pair is None:
        return []
    verdict = judge_pair((swap.tool.kind, *swap.pair), makers)
    if verdict.decision is not Decision.BLOCK:
        return []
    return [InTheWay("material", verdict.says, f"Found: {swap.tool.kind} for {swap.pair[0]}, {swap.pair[1]}.")]


def _wrong_driver(swap: Swap, drivers: Sequence[Driver]) -> list[InTheWay]:
    driver, tool = swap.driver, swap.tool
    if driver is None or tool is None:
        return []
    seat = tool.seat
    fitting = [one.name for one in drivers if one.seat == seat and not one.refused]
    take = (
        f"Take {' or '.join(fitting)}."
        if fitting
        else "No driver here that fits it may be used today: stop, and tell the supervisor."
    )
    if driver.refused:
        return [InTheWay("driver", f"{driver.refused} It may not be used.", take)]
    if driver.seat != seat:
        return [
            InTheWay(
                "driver",
                f"{driver.name} fits {driver.seat or 'nothing that is written down'}; {tool.name} needs {seat}.",
                take,
            )
        ]
    return []


def _no_click(swap: Swap) -> list[InTheWay]:
    if swap.driver is None or swap.tool is None or swap.clicked:
        return []
    needed = "Loosen it, clean the seat, and try once with another driver in date. Still no click: stop the unit (stop rule 1)."
    return [InTheWay("clicked", "The driver did not click.", needed)]


def _miscounted(swap: Swap) -> list[InTheWay]:
    """Tools counted before equal those counted after, with those in the tub."""
    if swap.counted_out == swap.counted_in:
        return []
    found = f"{counted(swap.counted_out, 'tool')} before, {counted(swap.counted_in, 'tool')} after."
    return [InTheWay("counted_in", found, "Find the piece before the door closes, then count again, the tub included.")]
