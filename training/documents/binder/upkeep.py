"""Upkeep by equipment: a picture of its year, then every entry."""

from operator import attrgetter

from reportlab.lib.units import mm

from clinic.rules.words import counted
from training.documents.charts import draw_tracks
from training.documents.paper import GREY

from .content import BinderContent, UnitYear, UpkeepRow
from .sheet import Sheet, done_on

ENTRIES = (("Day", 20), ("Done by", 29), ("Allowed that day", 26), ("Readings", 63), ("In time", 16), ("Fact", 16))
# Tracks in one picture, so that it stays on its page.
MOST = 18
# Failed checks that the short form tells one by one.
TOLD = 4


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("upkeep", "Upkeep by equipment")
    if content.short:
        _doubts(sheet, content.doubts)
    for n, (name, year, rows) in enumerate(by_equipment(content)):
        if content.short and sheet.full((62 + 7.4 * min(len(year.tracks) if year else 0, MOST)) * mm):
            sheet.stop("the full binder shows every piece of equipment.")
            return
        _unit(sheet, name, year, rows, f"unit-{n}", content.short)
    if not content.years and not content.upkeep:
        sheet.none("No equipment needed upkeep in the period, and none was recorded.")


def _doubts(sheet: Sheet, doubts: list[str]) -> None:
    """First of all, so that no other line of the short form takes its place."""
    if not doubts:
        return
    sheet.head("In doubt after a driver failed")
    more = len(doubts) - TOLD
    told = [*doubts[:TOLD], f"And after {counted(more, 'further failed check')}."] if more > 0 else doubts
    for words in told:
        sheet.para(words)
    sheet.para("The full binder has each tool, its jobs, and whoever was watched as they tightened it.", colour=GREY)


def by_equipment(content: BinderContent) -> list[tuple[str, UnitYear | None, list[UpkeepRow]]]:
    """Each piece of equipment with its picture, where it has one, and its entries."""
    years = {year.equipment: year for year in content.years}
    rows: dict[str, list[UpkeepRow]] = {name: [] for name in years}
    for row in content.upkeep:
        rows.setdefault(row.equipment, []).append(row)
    return [(name, years.get(name), entries) for name, entries in rows.items()]


def _unit(sheet: Sheet, name: str, year: UnitYear | None, rows: list[UpkeepRow], key: str, brief: bool) -> None:
    sheet.running = ""
    drawn = min(len(year.tracks), MOST) if year and not brief else 0
    sheet.head(name, key, (46 + 8.6 * drawn) * mm)
    sheet.running = f"{name}, continued"
    sheet.term("Equipment", name)
    if year:
        _year(sheet, year)
    if brief:
        sheet.para(f"Entries in the period: {len(rows)}.", size=9.5)
        return
    cells = [
        (u.task, done_on(u.day, u.written), u.done_by, _allowed(u), u.readings, u.in_time, u.fact)
        for u in sorted(rows, key=attrgetter("task"))
    ]
    sheet.table(ENTRIES, cells, facts=True, grouped=True, none="No upkeep of it was logged in the period.")


def _year(sheet: Sheet, year: UnitYear) -> None:
    serial = f", serial {year.serial}" if year.serial else ""
    sheet.para(f"{year.kind}{serial}. {year.says}", colour=GREY)
    for start in range(0, len(year.tracks), MOST):
        tracks = year.tracks[start : start + MOST]
        sheet.need((13 + 7.4 * len(tracks)) * mm)
        sheet.y = draw_tracks(sheet.c, sheet.left, sheet.y, sheet.right - sheet.left, year.first, year.last, tracks)
        sheet.y -= 8 * mm


def _allowed(row: UpkeepRow) -> str:
    return f"{row.allowed}; {row.stood_by} stood by" if row.stood_by else row.allowed
