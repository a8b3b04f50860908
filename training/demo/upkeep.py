"""Ordinary upkeep and use, week by week."""

from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import Any

from django.conf import settings

from clinic import clock
from clinic.actions.readings import keep_photo
from clinic.actions.upkeep import log_entry, log_use
from clinic.models import Equipment, Person, UpkeepTask
from clinic.rules.tools import Material
from training.demo.careers import Careers
from training.demo.setting_up import Cast

CALIBRATION = "U03"  # its tools are laid out and photographed
VERIFIED = "U09"  # a passed verification logs it
PARTS_A_WEEK = 22  # about what both units of the larger site mill


@dataclass(slots=True)
class UpkeepPlayer:
    """Every task of every unit is done a day before it is due, by somebody who holds its procedure that day."""

    cast: Cast
    careers: Careers
    tasks: list[UpkeepTask]
    skipped: set[tuple[str, int]]  # (task code, week) that a mess takes over

    def play_week(self, week: int, days: list[date]) -> None:
        for unit in self.cast.equipment.values():
            for index, task in enumerate(task for task in self.tasks if task.equipment_kind == unit.kind):
                if self.falls_in(task, week) and (task.code, week) not in self.skipped and task.code != VERIFIED:
                    self.do(task, unit, days[index % len(days)])
        self.mill(days)

    def falls_in(self, task: UpkeepTask, week: int) -> bool:
        by_days, by_units = (task.every_days or 7) // 7, (task.every_units or 10**6) // PARTS_A_WEEK
        return week % max(1, min(by_days, by_units)) == 0

    def do(self, task: UpkeepTask, unit: Equipment, day: date, at: time = time(8, 30)) -> None:
        done_by = self.somebody(task, unit, day)
        if done_by is None:
            return
        with clock.standing_at(self.cast.scenario.instant(day, 17)):
            entry = log_entry(
                task, unit, done_by, site=unit.site, by=done_by, day=day, at=at, readings=self.good_readings(task, day),
                id=self.cast.scenario.key_of("entry", unit.label, task.code, day),
            )  # fmt: skip
            if task.code == CALIBRATION:
                keep_photo(entry, (settings.DEMO_DIR / "calibration_tools.jpg").read_bytes(), done_by)

    def somebody(self, task: UpkeepTask, unit: Equipment, day: date) -> Person | None:
        return self.somebody_who(task.covered_by, unit, day)

    def somebody_who(self, code: str, unit: Equipment, day: date) -> Person | None:
        """Each in turn of those at the unit's site who hold the procedure; anybody, where there is none to hold."""
        here = [a for a in self.careers.learners(day) if a.site == unit.site.code]
        able = [a for a in here if not code or self.holder(a.key, code, day)]
        return self.cast.people[able[self.cast.scenario.week_of(day) % len(able)].key] if able else None

    def holder(self, key: str, code: str, day: date) -> bool:
        actor = next(a for a in self.cast.scenario.people if a.key == key)
        founded = actor.founding and day <= self.cast.scenario.start + timedelta(days=330)
        return founded or self.careers.holds(actor, code, day)

    def mill(self, days: list[date]) -> None:
        """A handful of parts on every working day; fewer at the small site."""
        for unit in [unit for unit in self.cast.equipment.values() if unit.kind == "milling unit"]:
            person = self.somebody_at(unit.site.code, days[0])
            for day in days[:4]:
                units = 1 + int(self.cast.scenario.key_of("use", unit.label, day)) % 4
                material = list(Material)[int(self.cast.scenario.key_of("material", unit.label, day)) % 3]
                with clock.standing_at(self.cast.scenario.instant(day, 17, 30)):
                    log_use(
                        unit, units, site=unit.site, by=person, day=day, material=material.value, wet=material is Material.GLASS_CERAMIC,
                        id=self.cast.scenario.key_of("use", unit.label, day),
                    )  # fmt: skip

    def somebody_at(self, site: str, day: date) -> Person:
        return self.cast.people[next(a for a in self.careers.learners(day) if a.site == site).key]

    def good_readings(self, task: UpkeepTask, day: date) -> dict[str, Any]:
        """What the scenario says is read when all is well; otherwise a value inside the limits, of what is asked."""
        known = self.cast.scenario.readings
        names = {reading["key"]: f"{task.code}.{reading['key']}" for reading in task.readings}
        return {
            reading["key"]: self.of(known[name], task, day) if (name := names[reading["key"]]) in known else good_value(reading)
            for reading in task.readings if not reading["optional"] or names[reading["key"]] in known
        }  # fmt: skip

    def of(self, values: list[Any], task: UpkeepTask, day: date) -> Any:
        """Words change every ten weeks, numbers each time."""
        turn = (day - self.cast.scenario.start).days // 70
        steady = isinstance(values[0], str)
        return values[(turn if steady else int(self.cast.scenario.key_of("read", task.code, day))) % len(values)]


def good_value(reading: dict[str, Any]) -> Any:
    """A value inside its limits, of the reading's kind."""
    kind = reading["kind"]
    if kind == "number":
        return good_number(reading)
    if kind in ("yes-no", "yes/no"):
        return (reading["good"] or ["yes"])[0]
    if kind == "choice":
        return (reading["good"] or reading["choices"])[0]
    return reading["total"] or "good"


def good_number(reading: dict[str, Any]) -> Any:
    if reading["low"] is not None:
        return reading["low"] if reading["high"] is None else (reading["low"] + reading["high"]) / 2
    top = reading["high"] if reading["high"] is not None else reading["below"]
    return 1 if top is None else top / 5
