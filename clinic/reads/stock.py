"""The shelf as it stands, and the messages of units."""

from collections.abc import Sequence
from datetime import date

from clinic.models import Site, StockLine, StockMoved, UnitMessage, UpkeepEntry
from clinic.reads.tools import tools_now
from clinic.rules.roles import TaskRole
from clinic.rules.stock import Moved, OnShelf, Shelf, StockSays, left


def lines_of(site: Site) -> list[StockLine]:
    """The newest line of each name, without what is not kept any more."""
    newest = {row.name: row for row in StockLine.objects.live().filter(site=site).in_order()}
    return sorted((row for row in newest.values() if row.full), key=lambda row: (row.shelf, row.name))


def on_shelf(site: Site, today: date) -> list[OnShelf]:
    """Everything that is kept, what is low first. Eight queries."""
    moves: dict[str, list[Moved]] = {}
    for one in StockMoved.objects.live().filter(site=site).order_by("recorded_at", "pk"):
        moves.setdefault(one.name, []).append(Moved(StockSays(one.what), one.number, one.happened_on, one.recorded_at))
    changes = UpkeepEntry.objects.live().filter(site=site, task__stands_for=TaskRole.FILTER_CHANGE)
    changed = list(changes.values_list("happened_on", "recorded_at"))
    spare = [one.tool for one in tools_now(site, today) if one.mounting is None and not one.gone]
    found = []
    for row in lines_of(site):
        if row.shelf == Shelf.TOOL:
            number = sum(tool.kind == row.tool and (not row.size or tool.size == row.size) for tool in spare)
        else:
            number = left(moves.get(row.name, []), changed if row.shelf == Shelf.FILTER else ())
        found.append(OnShelf(row.name, Shelf(row.shelf), number, row.line, row.full))
    return sorted(found, key=lambda one: (not one.is_low, one.shelf, one.name))


def messages_of(site: Site, words: str = "") -> Sequence[UnitMessage]:
    """The newest of each code and unit; those that hold every one of the words, in code, text or remedy."""
    rows = UnitMessage.objects.live().filter(site=site).select_related("equipment", "recorded_by").in_order()
    newest = {(row.equipment_id, row.code.casefold()): row for row in rows}
    asked = words.casefold().split()
    found = [row for row in newest.values() if all(word in text_of(row) for word in asked)]
    return sorted(found, key=lambda row: (row.code.casefold(), row.equipment.label if row.equipment else ""))


def text_of(row: UnitMessage) -> str:
    return f"{row.code} {row.shown} {row.remedy} {row.equipment or ''}".casefold()
