"""Lots of blocks, and the factor that is typed in for a job from one."""

from decimal import Decimal
from uuid import UUID, uuid4

from clinic import clock
from clinic.changes import make_once
from clinic.models import BlockLot, FactorEntered, Person
from clinic.record import Refusal, record
from clinic.rules.tools import factor_warnings


def enter_lot(lot: BlockLot, *, by: Person) -> BlockLot:
    """A lot as its packet says it. The same sent again is one; another with its number is refused."""
    there = BlockLot.objects.filter(site=lot.site, lot=lot.lot).first()
    taken = Refusal("This lot is entered already.", "Take it from the list, or read the packet again.", "lot")
    return make_once(lot, there, taken, site=lot.site, by=by, said=f"Lot {lot.lot} entered")


def enter_factor(lot: BlockLot, factor: Decimal, *, by: Person, id: UUID | None = None) -> list[str]:
    """Record what was typed in. Returns what is odd about it; it only warns, because the packet decides (Z-05)."""
    row = FactorEntered(
        id=id or uuid4(), site=lot.site, happened_on=clock.today(lot.site.time_zone), lot=lot, factor=factor
    )
    record(row, by=by)
    return factor_warnings(factor, lot.factor)
