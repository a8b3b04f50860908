"""Upkeep entries as they are shown: who did it, who stood by, whether that was held, and what was read."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db.models import QuerySet

from clinic.models import EntryPhoto, Organisation, Person, Site, UpkeepEntry
from clinic.rules.cover import EntryCover, EntryStanding, Present, entry_cover
from clinic.rules.site_text import by_name
from clinic.usable import usable_on_days


@dataclass(frozen=True, slots=True)
class EntrySaid:
    """One entry with its cover and its readings in words."""

    entry: UpkeepEntry
    cover: EntryCover
    readings: str
    photos: Sequence[UUID] = ()

    @property
    def is_finding(self) -> bool:
        return self.cover.standing is EntryStanding.NOBODY_USABLE


def entries_of(site: Site) -> QuerySet[UpkeepEntry]:
    """The site's entries that stand, newest first, with everybody they name."""
    rows = (
        UpkeepEntry.objects.live()
        .filter(site=site)
        .select_related("task", "equipment", "done_by", "stood_by", "site")
        .with_results()
    )
    return rows.order_by("-happened_on", "-recorded_at", "pk")


def said(organisation: Organisation, entries: Iterable[UpkeepEntry]) -> list[EntrySaid]:
    """With two further queries, however many entries."""
    rows = list(entries)
    covers, photos = covers_of(organisation, rows), photos_of(rows)
    return [
        EntrySaid(row, cover, readings_words(row), photos=photos[row.pk])
        for row, cover in zip(rows, covers, strict=True)
    ]


def photos_of(rows: Sequence[UpkeepEntry]) -> dict[UUID, list[UUID]]:
    """The keys of the photos of each entry; the pictures themselves stay where they are."""
    found: dict[UUID, list[UUID]] = defaultdict(list)
    taken = EntryPhoto.objects.live().filter(entry__in=[row.pk for row in rows])
    for entry, photo in taken.values_list("entry", "pk"):
        found[entry].append(photo)
    return found


def perhaps_bare(site: Site, until: date) -> list[UpkeepEntry]:
    """Entries of covered tasks whose doer might not work alone that day. Few are, so only these are read in full."""
    rows = UpkeepEntry.objects.live().filter(site=site, happened_on__lte=until).exclude(task__covered_by="")
    keys = list(rows.values_list("pk", "task__covered_by", "happened_on", "done_by"))
    usable = usable_on_days(site.organisation, {(code, day) for _, code, day, _ in keys})
    return list(entries_of(site).filter(pk__in=[pk for pk, code, day, who in keys if who not in usable[code, day]]))


def covers_of(organisation: Organisation, rows: Sequence[UpkeepEntry]) -> list[EntryCover]:
    asked = {(row.task.covered_by, row.happened_on) for row in rows if row.task.covered_by}
    usable = usable_on_days(organisation, asked)
    return [cover_with(row, usable.get((row.task.covered_by, row.happened_on), set())) for row in rows]


def cover_with(row: UpkeepEntry, usable: set[UUID]) -> EntryCover:
    return cover_of(row.done_by, row.stood_by, row.task.covered_by, usable)


def cover_of(done_by: Person, stood_by: Person | None, procedure: str, usable: set[UUID]) -> EntryCover:
    """`usable`: who may do the procedure alone on the day of the work."""
    near = [Present(str(stood_by), stood_by.pk in usable)] if stood_by else []
    return entry_cover(Present(str(done_by), done_by.pk in usable), near, procedure=procedure or None)


def readings_words(row: UpkeepEntry) -> str:
    """Label and value of every reading that was taken, on its day or later, in the order of the task."""
    read = row.all_readings
    return "; ".join(
        f"{without_braces(spec['label'])} {read[spec['key']]} {spec.get('unit') or ''}".strip()
        for spec in row.task.readings
        if spec["key"] in read
    )


def without_braces(label: str) -> str:
    """A label from a time whose answers are not known any more: the site fact's name stands for it."""
    return by_name(label)
