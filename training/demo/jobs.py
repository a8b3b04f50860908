"""Jobs of eighteen months: about two a week over both sites, most of them good, some made again, and two crashes."""

from dataclasses import dataclass, field
from datetime import date
from typing import Any

from clinic import clock
from clinic.actions.jobs import EndAsked, JobAsked, end_job, start_job, want_in_set
from clinic.models import BlockLot, Equipment, JobStarted, Person
from clinic.rules.jobs import Cause, JobOutcome
from clinic.rules.tools import Material
from training.demo.scenario import key_of
from training.demo.setting_up import Cast
from training.demo.upkeep import UpkeepPlayer

CODE = "P24"
WINDOW, SINK, FERRY = "unit 1, by the window", "unit 2, by the sink", "the unit at Ferry Lane"
# Which unit mills on which weeks: every so many, from a first one, on a weekday.
ROUNDS = [(WINDOW, 1, 2, 2), (SINK, 2, 5, 3), (FERRY, 2, 2, 2)]
CRASHES = {(SINK, 27): Cause.TOOL, (WINDOW, 52): Cause.BLOCK}
AGAIN = [Cause.MARGIN, Cause.FIT, Cause.SHADE, Cause.DESIGN, Cause.FACTOR]
ONE_IN = 11  # jobs is made again
FOUND_LATER = {(WINDOW, 60)}  # in the furnace, after it was called good
LEARNING = {(WINDOW, 74)}  # started by somebody who learns, with somebody standing by
SETS = [
    (WINDOW, "pre-sintered zirconia", "dry", "1", "fluted cutter", "2.0 mm"),
    (WINDOW, "polymer or wax", "dry", "1", "fluted cutter", "2.0 mm"),
    (WINDOW, "polymer or wax", "dry", "2", "fluted cutter, coated", "1.0 mm"),
    (SINK, "glass-ceramic", "wet", "1", "grit-coated grinder", "1.2 mm"),
    (FERRY, "pre-sintered zirconia", "dry", "1", "fluted cutter", "2.0 mm"),
]


@dataclass(slots=True)
class Jobs:
    cast: Cast
    upkeep: UpkeepPlayer
    lots: list[BlockLot] = field(default_factory=list)

    def play_week(self, week: int, days: list[date]) -> None:
        if week == 0:
            self.write_sets(days[0])
        for label, every, first, weekday in ROUNDS:
            if week >= first and (week - first) % every == 0 and weekday < len(days):
                self.mill(self.cast.equipment[label], week, days[weekday])

    def write_sets(self, day: date) -> None:
        with clock.standing_at(self.cast.scenario.instant(day, 10, 30)):
            for label, material, way, position, tool, size in SETS:
                want_in_set(
                    self.cast.equipment[label], day, by=self.cast.owner, id=key_of("set", label, material, position), material=material,
                    way=way, position=position, tool=tool, size=size,
                )  # fmt: skip

    def mill(self, unit: Equipment, week: int, day: date) -> None:
        lot, by = self.lot_for(unit, week, day), self.somebody(unit, day)
        if lot is None or by is None:
            return
        doer, near = self.pair(unit, week, day, by)
        wet = lot.material == Material.GLASS_CERAMIC
        asked = JobAsked(unit, lot, self.case(unit, week, day), wet, lot.factor, near)
        with clock.standing_at(self.cast.scenario.instant(day, 11, 5)):
            job, _ = start_job(asked, site=unit.site, by=doer, id=self.cast.scenario.key_of("job", unit.label, day))
        with clock.standing_at(self.cast.scenario.instant(day, 11, 50)):
            self.end(job, week, by, *self.outcome(unit, week, day))
        if (unit.label, week) in FOUND_LATER:
            with clock.standing_at(self.cast.scenario.instant(day, 16, 10)):
                self.end(job, week, by, JobOutcome.REMADE, Cause.THIN, note="Cracked in the furnace.", turn=1)

    def case(self, unit: Equipment, week: int, day: date) -> str:
        """As the practice numbers its cases: the week, and a number drawn for it."""
        return f"{week:02}-{int(self.cast.scenario.key_of('case', unit.label, day)) % 9000 + 1000}"

    def somebody(self, unit: Equipment, day: date) -> Person | None:
        """Each in turn of those at the unit's site who hold it and what it rests on."""
        careers, rests_on = self.upkeep.careers, self.upkeep.careers.policy(CODE, day).prerequisites
        here = [a for a in careers.learners(day) if a.site == unit.site.code]
        able = [a for a in here if all(self.upkeep.holder(a.key, code, day) for code in (CODE, *rests_on))]
        return self.cast.people[able[self.cast.scenario.week_of(day) % len(able)].key] if able else None

    def end(self, job: JobStarted, week: int, by: Person, outcome: JobOutcome, cause: str, note: str = "", turn: int = 0) -> None:  # fmt: skip
        asked = EndAsked(job, outcome, cause, note=note)
        end_job(asked, site=job.site, by=by, id=key_of("job ended", job.equipment.label, week, turn))

    def outcome(self, unit: Equipment, week: int, day: date) -> tuple[JobOutcome, str]:
        if (unit.label, week) in CRASHES:
            return JobOutcome.CRASH, CRASHES[unit.label, week]
        turn = int(self.cast.scenario.key_of("outcome", unit.label, day))
        if turn % ONE_IN == 0 and (unit.label, week) not in FOUND_LATER:
            return JobOutcome.REMADE, AGAIN[turn // ONE_IN % len(AGAIN)]
        return JobOutcome.GOOD, ""

    def lot_for(self, unit: Equipment, week: int, day: date) -> BlockLot | None:
        """The newest of the unit's material that was there on the day; unit 1 mills polymer every sixth week."""
        material = Material.GLASS_CERAMIC if unit.label == SINK else Material.ZIRCONIA
        if unit.label == WINDOW and week % 6 == 5:
            material = Material.POLYMER
        there = [lot for lot in self.known(day) if lot.site_id == unit.site_id and lot.material == material]
        return there[-1] if there else None

    def known(self, day: date) -> list[BlockLot]:
        """From memory, and read anew only where a packet has come since."""
        came = sum(self.cast.scenario.day(row["week"]) <= day for row in self.cast.scenario.lots)
        if len(self.lots) < came:
            self.lots = list(BlockLot.objects.filter(site__in=self.cast.sites.values()).order_by("received_on", "lot"))
        return [lot for lot in self.lots if lot.received_on <= day]

    def pair(self, unit: Equipment, week: int, day: date, able: Person) -> tuple[Person, Person | None]:
        """Who starts it, and who stands by where it is somebody who learns."""
        if (unit.label, week) not in LEARNING:
            return able, None
        here: list[Any] = [a for a in self.upkeep.careers.learners(day) if a.site == unit.site.code]
        learns = [a for a in here if not self.upkeep.holder(a.key, CODE, day) and CODE in self.upkeep.careers.wanted(a)]
        return (self.cast.people[learns[0].key], able) if learns else (able, None)
