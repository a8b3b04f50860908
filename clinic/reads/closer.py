"""Since when and why a water line is sampled more often than usual."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.db.models import Q, QuerySet

from clinic.models import Equipment, FollowUp, OpeningReading, ResultRead, Site, UnitChanged, UpkeepEntry
from clinic.prepared import Prepared
from clinic.rules.closer import Closer, ReadSample, closer_spans

KIND, COUNT = "dental-unit water line", "cfu"


def closer_of(
    site: Site, units: Sequence[Equipment], known_by: datetime | None = None
) -> dict[Any, tuple[Closer, ...]]:
    """By line. A line is new that came into service after the register started, and was not taken over from paper.
    A fixed number of queries; none where no unit is a line."""
    lines = [unit for unit in units if unit.kind == KIND]
    if not lines:
        return {}
    samples, changes = samples_of(lines, known_by), changes_of(lines, known_by)
    taken_over = {unit for (unit,) in TAKEN_OVER.rows(known_by, lines=[line.pk for line in lines])}
    found = {}
    for line in lines:
        new = line.in_service_from > site.register_start and line.pk not in taken_over
        found[line.pk] = closer_spans(line.in_service_from if new else None, changes[line.pk], samples[line.pk])
    return found


def samples_of(lines: Sequence[Equipment], known_by: datetime | None) -> dict[Any, list[ReadSample]]:
    """Every sample that was read, by whichever task; failed is what has a follow-up that stands."""
    keys, found = [line.pk for line in lines], defaultdict(list)
    failed = {entry for (entry,) in OUT.rows(known_by, lines=keys)}
    later = dict(RESULTS.rows(known_by, lines=keys))  # the last of each entry
    for pk, unit, day, readings in SAMPLES.rows(known_by, lines=keys):
        if (readings | later.get(pk, {})).get(COUNT):
            found[unit].append(ReadSample(day, pk not in failed))
    return found


def samples(lines: Any, known_by: datetime | None = None) -> QuerySet[Any, Any]:
    """Entries of these lines, among which most are no sample: those that say a count themselves or later."""
    later = ResultRead.objects.live(known_by).filter(entry__equipment__in=lines).values("entry")
    rows = UpkeepEntry.objects.live(known_by).filter(equipment__in=lines)
    rows = rows.filter(Q(readings__has_key=COUNT) | Q(pk__in=later)).in_order()
    return rows.values_list("pk", "equipment", "happened_on", "readings")  # type: ignore[no-any-return]


def results(lines: Any, known_by: datetime | None = None) -> QuerySet[Any, Any]:
    rows = ResultRead.objects.live(known_by).filter(entry__equipment__in=lines).in_order()
    return rows.values_list("entry", "readings")  # type: ignore[no-any-return]


def of_lines(model: Any, *columns: str) -> Prepared:
    return Prepared(
        lambda lines, known_by=None: model.objects.live(known_by).filter(equipment__in=lines).values_list(*columns)
    )


SAMPLES, RESULTS = Prepared(samples), Prepared(results)
CHANGED, TAKEN_OVER = of_lines(UnitChanged, "equipment", "happened_on"), of_lines(OpeningReading, "equipment")
OUT = Prepared(
    lambda lines, known_by=None: (
        FollowUp.objects.standing(known_by).filter(entry__equipment__in=lines, reading=COUNT).values_list("entry")
    )
)


def changes_of(lines: Sequence[Equipment], known_by: datetime | None) -> dict[Any, list[Any]]:
    found = defaultdict(list)
    for unit, day in CHANGED.rows(known_by, lines=[line.pk for line in lines]):
        found[unit].append(day)
    return found
