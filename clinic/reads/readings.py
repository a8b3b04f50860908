"""The readings that a task asks for at one unit, with the site's answers in their words and limits."""

from dataclasses import dataclass, fields, replace
from datetime import date
from typing import Any

from clinic import clock
from clinic.models import Equipment, Site, UpkeepTask
from clinic.reads.coolant_bands import bands_of
from clinic.reads.drivers import details_on, limit_of
from clinic.reads.site_answers import answers_at, numbers_in
from clinic.reads.water_limits import FACT, limits_of
from clinic.rules.readings import FactValue, ReadingKind, ReadingSpec
from clinic.rules.site_text import Answers, said
from clinic.rules.water import tank_acts

NAMES = {each.name for each in fields(ReadingSpec)}
LISTS = {"choices", "good"}


@dataclass(frozen=True, slots=True)
class ReadingsAsked:
    """What is read at a unit, and the numbers that site facts hold for its limits."""

    specs: tuple[ReadingSpec, ...]
    numbers: dict[str, FactValue]
    answers: Answers


def asked_at(site: Site, unit: Equipment, task: UpkeepTask, day: date | None = None) -> ReadingsAsked:
    """By the limits of that day; without one, of today."""
    day = day or clock.today(site.time_zone)
    answers = answers_at(site, unit)
    specs = tuple(spec_of(row, answers) for row in task.readings)
    numbers = numbers_in(answers)
    if any(spec.site_limit == FACT for spec in specs):
        numbers = numbers | limit_on(site, unit, day)
    return ReadingsAsked(with_declared(unit, day, with_bands(site, unit, day, specs)), numbers, answers)


def limit_on(site: Site, unit: Equipment, day: date) -> dict[str, FactValue]:
    """The maker's limit of the day as a number of its own, never one that some text happens to name."""
    number = limits_of(site).number(unit, day)
    return {} if number is None else {FACT: number}


def with_declared(unit: Equipment, day: date, specs: tuple[ReadingSpec, ...]) -> tuple[ReadingSpec, ...]:
    """The deviation of a torque driver is asked by its maker's declared limit, where that is tighter (T-03)."""
    details = details_on(unit, day) if unit.kind == "torque driver" else None
    if details is None:
        return specs
    limit = float(limit_of(details))
    return tuple(replace(spec, low=-limit, high=limit) if spec.key == "deviation" else spec for spec in specs)


def with_bands(site: Site, unit: Equipment, day: date, specs: tuple[ReadingSpec, ...]) -> tuple[ReadingSpec, ...]:
    """The count of a tank is asked by the bands that the site has in force on the day."""
    if unit.kind != "coolant tank" or not any(spec.key == "cfu" for spec in specs):
        return specs
    edges = bands_of(site).on(day)
    reasonable, poor = tank_acts(edges)
    acts = {"below": float(edges.reasonable_from), "what_to_do": reasonable}
    acts |= {"worse_from": float(edges.poor_from), "do_when_worse": poor}
    return tuple(replace(spec, **acts) if spec.key == "cfu" else spec for spec in specs)  # type: ignore[arg-type]


def spec_of(row: dict[str, Any], answers: Answers) -> ReadingSpec:
    """A stored reading of a task as the rules take it."""
    known: dict[str, Any] = {
        name: tuple(value) if name in LISTS else value for name, value in row.items() if name in NAMES
    }
    words = {name: said(row.get(name) or "", answers) for name in ("label", "what_to_do")}
    return ReadingSpec(**known | words | {"kind": ReadingKind(row["kind"].replace("yes-no", "yes/no"))})
