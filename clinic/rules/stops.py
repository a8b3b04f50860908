"""The stop rules of the library: the same few reasons on every unit."""

from dataclasses import dataclass

AT_ONCE = "Stopped at once; why is said after"
"""The reason of a stop by one tap on the unit: hands first, words after. The next stop of it says why."""


@dataclass(frozen=True, slots=True)
class StopRule:
    number: int
    title: str
    says: str


@dataclass(frozen=True, slots=True)
class StopRules:
    """The acts that are always the same, by which anybody stops a unit, and the cases for them."""

    says: str
    acts: tuple[str, ...]
    then: str
    rules: tuple[StopRule, ...]
