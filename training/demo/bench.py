"""What is done at the bench beside upkeep: torque drivers verified, tools swapped, block lots entered."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from clinic import clock
from clinic.actions.blocks import enter_factor, enter_lot
from clinic.actions.drivers import Readings, verify_driver, write_driver, write_reference
from clinic.actions.tools import SwapAsked, allow_pair, enter_tool, swap_tool
from clinic.models import BlockLot, Equipment, MillingTool, Person
from clinic.rules.tools import DEFAULT_PAIRS, Material, MillingWay
from training.demo.scenario import Scenario, key_of
from training.demo.setting_up import Cast
from training.demo.upkeep import UpkeepPlayer

CLASS, NEEDED, LIMIT = "E", 10, "6"  # a fixed screwdriver, read ten times at its one torque
REFERENCE_DAYS = 380  # the reference goes out to be checked every year
FORBIDDEN = {"tool": "grit-coated grinder", "material": "pre-sintered zirconia", "way": "dry"}
Row = dict[str, Any]


@dataclass(slots=True)
class Bench:
    cast: Cast
    upkeep: UpkeepPlayer

    def play_week(self, week: int, days: list[date]) -> None:
        if week == 0:
            self.write_tables()
        self.check_drivers(week, days[0])
        for row in self.cast.scenario.lots:
            if row["week"] == week:
                self.receive(row, days[0])
        for row in self.cast.scenario.tools:
            if week % row["every"] == 0:
                self.swap(row, week // row["every"], days[min(1, len(days) - 1)])

    def unit(self, label: str) -> Equipment:
        return self.cast.equipment[label]

    # -- drivers ------------------------------------------------------------------------------------------------------

    def check_drivers(self, week: int, day: date) -> None:
        """Papers on the first day, a verification on its weeks, and a new paper of the reference each year."""
        for row in self.cast.scenario.drivers:
            if week == 0:
                self.write_papers(row, day)
            if week in row["weeks"]:
                self.write_reference(row, day)
                self.verify(row, day, self.holder(row, day), readings_of(self.cast.scenario, row, day))

    def holder(self, row: Row, day: date) -> Person:
        """Somebody of the driver's site who may verify it alone."""
        site = self.unit(row["driver"]).site.code
        keys = [actor.key for actor in self.upkeep.careers.learners(day) if actor.site == site]
        return self.cast.people[next(key for key in keys if self.upkeep.holder(key, "P05", day))]

    def write_papers(self, row: Row, day: date) -> None:
        with clock.standing_at(self.cast.scenario.instant(day, 9)):
            write_driver(
                self.unit(row["driver"]), day, by=self.cast.owner, id=key_of("papers", row["driver"]), driver_class=CLASS,
                seat=row["seat"], set_torque=row["torque"], most_torque=row["torque"], torque_unit="N·cm",
                target_source="the unit’s instructions, edition 4, pages 33 and 37", declared_percent=LIMIT,
                paper="declaration of conformance", paper_number=row["paper_number"],
            )  # fmt: skip

    def write_reference(self, row: Row, day: date) -> None:
        unit = self.unit(row["reference"])
        with clock.standing_at(self.cast.scenario.instant(day, 9, 10)):
            write_reference(
                unit, day, by=self.cast.owner, id=self.cast.scenario.key_of("reference", row["driver"], day), percent="0.8",
                good_through=day + timedelta(days=REFERENCE_DAYS), paper="calibration certificate",
                paper_number=f"CC-{1100 + self.cast.scenario.week_of(day)}", paper_day=day - timedelta(days=9),
            )  # fmt: skip

    def verify(self, row: Row, day: date, by: Person, readings: list[str], note: str = "") -> None:
        driver, points = self.unit(row["driver"]), [{"set": row["torque"], "readings": readings}]
        read = Readings(driver, self.unit(row["reference"]), day, points, ("21.0", "21.6"), note)
        with clock.standing_at(self.cast.scenario.instant(day, 11)):
            verify_driver(read, site=driver.site, by=by, id=self.cast.scenario.key_of("verified", row["driver"], day))

    # -- blocks -------------------------------------------------------------------------------------------------------

    def receive(self, row: Row, day: date) -> None:
        """The packet is entered when it comes; for some a factor is typed in for the next job."""
        site, factor = self.cast.sites[row["site"]], row.get("factor")
        lot = BlockLot(
            id=key_of("lot", row["lot"]), site=site, lot=row["lot"], material=row["material"],
            factor=Decimal(factor) if factor else None, received_on=day,
        )  # fmt: skip
        by = self.upkeep.somebody_at(site.code, day)
        with clock.standing_at(self.cast.scenario.instant(day, 10)):
            enter_lot(lot, by=by)
            if "typed" in row:
                enter_factor(lot, Decimal(row["typed"]), by=by, id=key_of("factor", row["lot"]))

    # -- tools --------------------------------------------------------------------------------------------------------

    def write_tables(self) -> None:
        """The makers' tables: what fits by default, and one pair that they forbid."""
        day = self.cast.scenario.start
        for unit in [unit for unit in self.cast.equipment.values() if unit.kind == "milling unit"]:
            pairs = [{"tool": t.value, "material": m.value, "way": w.value} for t, m, w in sorted(DEFAULT_PAIRS)]
            with clock.standing_at(self.cast.scenario.instant(day, 10)):
                for said in (*pairs, FORBIDDEN):
                    allow_pair(
                        unit, day, by=self.cast.owner, id=key_of("pair", unit.label, *said.values()), **said,
                        allowed=said is not FORBIDDEN, source="the unit’s instructions, edition 4, page 52",
                    )  # fmt: skip

    def swap(self, row: Row, turn: int, day: date) -> None:
        """A new tool from its packet, in the safe order; the one before goes into the tub."""
        unit, outs = self.unit(row["unit"]), self.cast.scenario.tools_out
        by = self.upkeep.somebody_who("P03", unit, day)
        if by is None:
            return
        asked = SwapAsked(
            unit=unit, position=row["position"], tool=self.from_packet(row, turn, unit), driver=self.unit(row["driver"]),
            clicked=True, safe=(True, True, True), counted=(3, 3), pair=(Material(row["material"]), MillingWay(row["way"])),
            why=outs[(turn - 1) % len(outs)] if turn else "",
        )  # fmt: skip
        with clock.standing_at(self.cast.scenario.instant(day, 8, 40)):
            swap_tool(
                asked, site=unit.site, by=by, id=self.cast.scenario.key_of("swap", unit.label, row["position"], day)
            )

    def from_packet(self, row: Row, turn: int, unit: Equipment) -> MillingTool:
        code = f"{row['code']}-{turn + 1:02}"
        tool = MillingTool(
            id=key_of("tool", unit.label, code), site=unit.site, code=code, kind=row["kind"], size=row["size"], seat="hex 1.3",
            positions=row["position"], life=self.cast.scenario.tool_life,
        )  # fmt: skip
        with clock.standing_at(self.cast.scenario.instant(self.cast.scenario.day(turn * row["every"]), 8)):
            return enter_tool(tool, by=self.cast.owner)


def readings_of(scenario: Scenario, row: Row, day: date) -> list[str]:
    """Ten readings within two percent of the set torque, the same on every run."""
    wanted = Decimal(row["torque"])
    steps = [int(scenario.key_of("torque", row["driver"], day, n)) % 9 - 4 for n in range(NEEDED)]
    return [f"{wanted + wanted * step / 200:.2f}" for step in steps]
