"""Reference rows as they were known at an instant: the changes recorded later are undone, newest first.

Rows that no change names (a demo, an import from before) count as always known.
"""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any, TypeVar

from django.db.models import Model

from clinic.models import Change

Row = TypeVar("Row", bound=Model)


def as_known_at(rows: Iterable[Row], known_by: datetime | None) -> list[Row]:
    """The rows with the days they had by the instant; one entered later is not there. One query; none for "now"."""
    found = list(rows)
    if known_by is None or not found:
        return found
    later = Change.objects.filter(about=found[0]._meta.label_lower, recorded_at__gt=known_by).order_by("-recorded_at")
    undone: dict[str, dict[str, Any] | None] = {}
    for key, before, after in later.values_list("about_id", "before", "after"):
        if before or after:  # neither: what only happened to the row
            undone[key] = {**(undone.get(key) or {}), **before} if before else None
    return [known for row in found if (known := before_that(row, undone)) is not None]


def before_that(row: Row, undone: dict[str, dict[str, Any] | None]) -> Row | None:
    """The row with its earlier days; None where it had not been entered yet."""
    earlier = undone.get(str(row.pk), {})
    if earlier is None:
        return None
    for name in ("from_day", "to_day"):
        if name in earlier:
            setattr(row, name, date.fromisoformat(earlier[name]) if earlier[name] else None)
    return row


def holds(row: Any, day: date) -> bool:
    """Both ends are good days."""
    return row.from_day <= day and (row.to_day is None or day <= row.to_day)
