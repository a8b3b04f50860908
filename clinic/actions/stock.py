"""What is on the shelf, and the messages of units, are written down by whoever is on duty; the lines by whoever keeps the roster."""

from datetime import date
from typing import Any
from uuid import UUID, uuid4

from clinic import clock
from clinic.models import Equipment, Person, Site, StockLine, StockMoved, UnitMessage
from clinic.record import Refusal, record, refuse_if
from clinic.rules.stock import StockSays

MOST = 100_000  # more than any shelf holds: a slip of the finger


def keep_in_stock(site: Site, day: date, *, by: Person, id: UUID | None = None, **said: Any) -> StockLine:
    """A line of the shelf, from a day."""
    low, gone = said["full"] <= said["line"], said["full"] == 0
    refuse_if(
        Refusal("More is ordered at this number, so the shelf holds more than that when it is full.", "Write a higher number, or 0 where it is not kept any more.", "full") if low and not gone else None,
        Refusal("Spare tools are counted by their kind.", "Choose the kind.", "tool") if said["shelf"] == "milling tool" and not said.get("tool") else None,
        sent=id,
    )  # fmt: skip
    return record(
        StockLine(id=id or uuid4(), site=site, happened_on=day, **said | {"name": said["name"].strip()}), by=by
    )


def move_stock(
    site: Site, name: str, what: StockSays, number: int, *, by: Person, id: UUID | None = None
) -> StockMoved:
    """Counted, come in or used, today."""
    known = StockLine.objects.live().filter(site=site, name=name).exists()
    refuse_if(
        Refusal("This is not kept in stock here.", "Choose one of the list.", "name") if not known else None,
        Refusal(f"{number} cannot be right.", f"Write at most {MOST:,}.", "number") if number > MOST else None,
        sent=id,
    )
    today = clock.today(site.time_zone)
    return record(StockMoved(id=id or uuid4(), site=site, happened_on=today, name=name, what=what.value, number=number), by=by)  # fmt: skip


def keep_message(
    site: Site, unit: Equipment | None, code: str, remedy: str, *, by: Person, shown: str = "", source: str = "", id: UUID | None = None
) -> UnitMessage:  # fmt: skip
    """A message with what the site does about it."""
    row = UnitMessage(
        id=id or uuid4(), site=site, happened_on=clock.today(site.time_zone), equipment=unit, code=code.strip(), shown=shown.strip(),
        remedy=remedy.strip(), source=source.strip(),
    )  # fmt: skip
    elsewhere = unit is not None and unit.site_id != site.pk
    refuse_if(Refusal("This unit is not at this site.", "Choose a unit of this site.", "equipment") if elsewhere else None, sent=id)  # fmt: skip
    return record(row, by=by)
