"""The one door by which rows of reference data are made, changed and ended: the row and the sealed `Change` that says it, in
one transaction. A change says what each column was and is; what only happened to a row is noted without either.
"""

from collections.abc import Collection, Mapping
from types import MappingProxyType
from typing import Any, TypeVar

from django.db import models, transaction

from clinic import clock
from clinic.lettering import against_names
from clinic.models import Change, Person, Site
from clinic.record import Refusal, only_if_allowed, record, refuse_if
from clinic.reference import REFERENCE, said_of
from clinic.rights import against_change

Row = TypeVar("Row", bound=models.Model)


@transaction.atomic
def make(
    row: Row, *, site: Site, by: Person | None, said: str, beside: Mapping[str, Any] = MappingProxyType({})
) -> Row:
    """Enter a new row. `site`: in whose chain that stands; `said`: in words, with names as they are today; `beside`: what is
    said of it that is no column."""
    refuse_if(*against_names(row))
    row.save(force_insert=True)
    write_change(row, {}, said_of(row) | dict(beside), site=site, by=by, said=said)
    return row


@transaction.atomic
def make_once(row: Row, there: Row | None, taken: Refusal, *, site: Site, by: Person | None, said: str) -> Row:
    """Enter a row of which there is one by its name. Rows of reference data carry no number of their form: where the one that
    is there says the very same in every column that decides, the form was sent again; another is refused with `taken`."""
    if there is None:
        return make(row, site=site, by=by, said=said)
    only_if_allowed(against_change(by, row, site))
    columns = REFERENCE[type(row)].deciding
    refuse_if(taken if any(getattr(there, name) != getattr(row, name) for name in columns) else None)
    return there


@transaction.atomic
def change(row: Row, *, site: Site, by: Person | None, said: str, only: Collection[str] = ()) -> Change | None:
    """Store what the row says now, in the deciding columns or in some of them. None, and nothing is recorded, where it says
    what it said before; whether they may is asked all the same."""
    now = said_of(row)
    was = stored(row)
    moved = [name for name in only or now if was[name] != now[name]]
    if not moved:
        only_if_allowed(against_change(by, row, site))
        return None
    refuse_if(*against_names(row, moved))
    row.save(update_fields=moved)
    before, after = ({name: side[name] for name in moved} for side in (was, now))
    return write_change(row, before, after, site=site, by=by, said=said)


@transaction.atomic
def remove(row: models.Model, *, site: Site, by: Person | None, said: str) -> None:
    """The row goes. What it said stays in the record."""
    write_change(row, stored(row), {}, site=site, by=by, said=said)
    row.delete()


def note(row: models.Model, *, site: Site, by: Person | None, said: str) -> Change:
    """Record what happened to a row without a column of it becoming another: a password chosen, sessions ended."""
    return write_change(row, {}, {}, site=site, by=by, said=said)


def stored(row: models.Model) -> dict[str, Any]:
    """What the database says of the row, which stays so until the end of the transaction."""
    there = type(row)._base_manager.select_for_update(no_key=True)
    return said_of(there.only(*REFERENCE[type(row)].deciding).get(pk=row.pk))


def write_change(
    row: models.Model, before: dict[str, Any], after: dict[str, Any], *, site: Site, by: Person | None, said: str
) -> Change:
    """The fact, if it was theirs to change."""
    only_if_allowed(against_change(by, row, site))
    fact = Change(
        site=site, happened_on=clock.today(site.time_zone), about=row._meta.label_lower, about_id=str(row.pk),
        said=said[:240], before=before, after=after,
    )  # fmt: skip
    return record(fact, by=by)
