"""Reading the scenario file into plain data."""

from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from uuid import NAMESPACE_URL, UUID, uuid5
from zoneinfo import ZoneInfo

from clinic.rules.yaml_text import read_yaml

NAMESPACE = uuid5(NAMESPACE_URL, "millroom-register/demo")


@dataclass(frozen=True, slots=True)
class Actor:
    """A person of the scenario before they are entered."""

    key: str
    name: tuple[str, str]
    site: str
    week: int
    role: str = ""
    posts: tuple[str, ...] = ()
    founding: bool = False
    supervises_week: int | None = None
    carried_over: bool = False
    inspector: bool = False
    leaves_week: int | None = None
    renews_late: bool = False
    unsigned: tuple[str, ...] = ()  # procedures shown well enough, for which nobody has signed yet
    language: str = ""


@dataclass(frozen=True, slots=True)
class Scenario:
    """`start` is the Monday on which both registers start; `last` is the day up to which history is played."""

    organisation: str
    weeks: int
    start: date
    last: date
    sites: tuple[dict[str, Any], ...]
    roles: dict[str, list[str]]
    people: tuple[Actor, ...]
    witness: dict[str, str]
    equipment: tuple[dict[str, Any], ...]
    messes: tuple[dict[str, Any], ...]
    drivers: tuple[dict[str, Any], ...]
    tools: tuple[dict[str, Any], ...]
    tool_life: int
    tools_out: tuple[str, ...]
    lots: tuple[dict[str, Any], ...]
    readings: dict[str, list[Any]]
    zone: ZoneInfo = field(default=ZoneInfo("Europe/London"))

    def day(self, week: int, weekday: int = 0) -> date:
        return self.start + timedelta(weeks=week, days=weekday)

    def days_of(self, week: int) -> list[date]:
        """Its working days before the day on which the demo is looked at."""
        return [day for day in (self.day(week, weekday) for weekday in range(5)) if day < self.last]

    def week_of(self, day: date) -> int:
        """How many whole weeks after the register start."""
        return (day - self.start).days // 7

    def key_of(self, *words: object) -> UUID:
        """A key in which days are counted from the register start: wherever the history is placed, the same act has the same
        key, and whatever is drawn by it falls out the same."""
        return key_of(*[f"day {(word - self.start).days}" if isinstance(word, date) else word for word in words])

    def instant(self, day: date, hour: int, minute: int = 0) -> datetime:
        return datetime.combine(day, time(hour, minute), tzinfo=self.zone)


def read_scenario(file: Path, last: date) -> Scenario:
    """The scenario so placed that its history ends the day before `last` (a day that is still to be lived)."""
    data = read_yaml(file.read_text(encoding="utf-8"))
    monday = last - timedelta(days=last.weekday())
    actors = tuple(actor(row) for row in data["people"])
    return Scenario(
        organisation=data["organisation"],
        weeks=data["weeks"],
        start=monday - timedelta(weeks=data["weeks"]),
        last=last,
        sites=tuple(data["sites"]),
        roles=data["roles"],
        people=actors,
        witness=data["witness"],
        equipment=tuple(data["equipment"]),
        messes=tuple(data["messes"]),
        drivers=tuple(data["drivers"]),
        tools=tuple(data["tools"]),
        tool_life=data["tool_life"],
        tools_out=tuple(data["tools_out"]),
        lots=tuple(data["lots"]),
        readings=data["readings"],
    )


def actor(row: dict[str, Any]) -> Actor:
    given, family = row["name"]
    several: dict[str, Any] = {key: tuple(row.get(key, ())) for key in ("posts", "unsigned")}
    rest = {key: value for key, value in row.items() if key != "name" and key not in several}
    return Actor(name=(given, family), **several, **rest)


def key_of(*words: object) -> UUID:
    """The same words give the same id, on every run. A day is no word of it: see `Scenario.key_of`."""
    assert not any(isinstance(word, date) for word in words), words
    return uuid5(NAMESPACE, "/".join(map(str, words)))
