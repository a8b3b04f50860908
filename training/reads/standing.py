"""Look-ups in the stored spans."""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Collection
from datetime import date
from uuid import UUID

from clinic.models import Organisation
from training.models import StandingSpan


def usable_keys(organisation: Organisation, procedure: str, on: date) -> set[UUID]:
    """Everybody who may do the procedure alone on the day; one indexed query."""
    spans = StandingSpan.objects.on(on).usable().filter(procedure__organisation=organisation, procedure__code=procedure)
    return set(spans.values_list("person", flat=True))


def usable_keys_on_days(
    organisation: Organisation, asked: Collection[tuple[str, date]]
) -> dict[tuple[str, date], set[UUID]]:
    """The same for many (procedure code, day); one query."""
    codes, days = {code for code, _ in asked}, [day for _, day in asked]
    spans = (
        StandingSpan.objects.usable()
        .filter(procedure__organisation=organisation, procedure__code__in=codes, first__lte=max(days))
        .values_list("procedure__code", "first", "after", "person")
    )
    found: dict[tuple[str, date], set[UUID]] = {each: set() for each in asked}
    in_order: dict[str, list[date]] = defaultdict(list)
    for code, day in sorted(found):
        in_order[code].append(day)
    for code, first, after, person in spans:
        of = in_order[code]
        for day in of[bisect_left(of, first) : bisect_left(of, after) if after else None]:
            found[code, day].add(person)
    return found
