"""Saying that a copy of the register was made, or restored on trial."""

from datetime import date
from uuid import UUID, uuid4

from clinic import clock
from clinic.models import Person, Safeguard, Site
from clinic.record import Refusal, record, refuse_if


def note_safeguard(
    kind: str,
    good: bool,
    said: str,
    on: date,
    *,
    site: Site,
    done_by: Person | None,
    by: Person | None,
    id: UUID | None = None,
) -> Safeguard:
    """Record a backup or a restore drill of that day, as it went; `done_by` None: by the register itself. Sent twice, it is one."""
    refuse_if(
        Refusal("That day is still to come.", "Write the day on which it was done.", "on")
        if on > clock.today(site.time_zone)
        else None,
        Refusal("The register did not exist yet on that day.", "Write the day on which it was done.", "on")
        if on < site.register_start
        else None,
        Refusal("What it was is not said.", "Say where the copy is, or what the drill found.", "said")
        if not said.strip()
        else None,
        Refusal("It is neither a backup nor a restore drill.", "Choose one of the two.", "kind")
        if kind not in Safeguard.Kind.values
        else None,
        sent=id,
    )
    row = Safeguard(
        id=id or uuid4(), site=site, happened_on=on, kind=kind, good=good, said=said.strip(), done_by=done_by
    )
    return record(row, by=by)
