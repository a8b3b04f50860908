"""What a procedure or an upkeep task stands for, said in its file of the library, so that no code of it is known here.

A practice may write its own library, with codes of its own. What the register has to find in it (the task that a driver's
verification logs, the procedure of whoever returns a stopped unit) it finds by these words.
"""

from enum import StrEnum


class TaskRole(StrEnum):
    """What an upkeep task stands for."""

    DRIVER_CHECK = "driver check"
    SPORE_TEST = "spore test"
    LINE_SAMPLE = "line sample"
    TANK_SAMPLE = "tank sample"
    WATER_CHANGE = "water change"
    FILTER_CHANGE = "filter change"
    PURGE = "purge"


class ProcedureRole(StrEnum):
    """What a procedure or a taught topic stands for."""

    TOOL_SWAP = "tool swap"
    MILLING = "milling job"
    CLAMPING = "block clamped"
    PATHOGENS = "bloodborne pathogens"


KIND_OF = {
    TaskRole.DRIVER_CHECK: "torque driver",
    TaskRole.SPORE_TEST: "steriliser",
    TaskRole.LINE_SAMPLE: "dental-unit water line",
    TaskRole.TANK_SAMPLE: "coolant tank",
    TaskRole.WATER_CHANGE: "coolant tank",
    TaskRole.FILTER_CHANGE: "coolant filter",
    TaskRole.PURGE: "milling unit",
}
"""The kind of unit that the task of a role is for."""

SEVERAL = frozenset({TaskRole.LINE_SAMPLE, TaskRole.TANK_SAMPLE})
"""Roles that more than one task may have: a sample by the practice itself, and one by a laboratory."""

RETURNED = (
    "milling unit", "coolant tank", "coolant filter", "suction unit", "torque driver", "steriliser",
    "dental-unit water line",
)  # fmt: skip
"""Kinds of unit that go back into service only by somebody who may do the procedure that returns them."""
