"""Upkeep entries as they are shown: who did it, who stood by, whether that was held, and what was read."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, TypeVar
from uuid import UUID

from django.db.models import QuerySet

from clinic.models import EntryPhoto, Equipment, JobStarted, Organisation, Person, Site, ToolMounted, UpkeepEntry
from clinic.port import Then, Work, usable_then
from clinic.prepared import Instances, Prepared
from clinic.rules.cover import EntryCover, EntryStanding, Present, entry_cover
from clinic.rules.site_text import by_name

W = TypeVar("W", JobStarted, ToolMounted)


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


def bare_or_covered(
    site: Site, among: Collection[str] | None = None, known_by: datetime | None = None
) -> list[UpkeepEntry]:
    """Entries of covered tasks whose doer might not work alone then. Few are, so only these are read in full. `among`: only
    these; `known_by`: as known by the instant."""
    rows = COVERED.rows(known_by, site=[site.pk], among=keys_among(among))
    works = [(pk, Work(code, who, day, at, made)) for code, who, day, at, made, pk in rows]
    then = usable_then(site.organisation, {work for _, work in works}, known_by)
    bare = [pk for pk, work in works if not then[work].usable]
    parts = ("task", "equipment", "done_by", "stood_by", "site")
    return list(UpkeepEntry.objects.filter(pk__in=bare).select_related(*parts)) if bare else []


def covered(site: Any, among: Any, known_by: datetime | None = None) -> Any:
    rows = UpkeepEntry.objects.live(known_by).filter(site__in=site).exclude(task__covered_by="")
    rows = rows if among is None else rows.filter(pk__in=among)
    return rows.values_list("task__covered_by", "done_by", "happened_on", "happened_at", "recorded_at", "pk")


COVERED = Prepared(covered)


def keys_among(among: Collection[str] | None) -> list[UUID] | None:
    return None if among is None else [UUID(key) for key in among]


def work_of(model: type[W]) -> Instances:
    """Rows of a kind of work at a site that stand (`among` these, as known by an instant), in order."""

    def rows(site: Any, among: Any, known_by: datetime | None = None) -> Any:
        found = model._default_manager.live(known_by).filter(site__in=site)  # type: ignore[attr-defined]
        return (found if among is None else found.filter(pk__in=among)).in_order()

    return Instances(model, rows)


def named(rows: list[W]) -> list[W]:
    """With their unit, whoever did the work, and whoever stood by. Two further queries."""
    units = {unit.pk: unit for unit in UNITS_BY_KEY.all(keys={row.equipment_id for row in rows})}
    keys = {key for row in rows for key in (row.done_by_id, row.stood_by_id) if key}
    people = {person.pk: person for person in PEOPLE_BY_KEY.all(keys=keys)}
    for row in rows:
        row.equipment, row.done_by = units[row.equipment_id], people[row.done_by_id]
        row.stood_by = people[row.stood_by_id] if row.stood_by_id else None
    return rows


UNITS_BY_KEY = Instances(Equipment, lambda keys: Equipment.objects.filter(pk__in=keys))
PEOPLE_BY_KEY = Instances(Person, lambda keys: Person.objects.filter(pk__in=keys))


def covers_of(
    organisation: Organisation, rows: Sequence[UpkeepEntry], known_by: datetime | None = None
) -> list[EntryCover]:
    """Who was usable is judged at the time of the work."""
    return covers_then(organisation, [(row, row.task.covered_by) for row in rows], known_by)


Done = UpkeepEntry | ToolMounted | JobStarted


def covers_then(
    organisation: Organisation, rows: Sequence[tuple[Done, str]], known_by: datetime | None = None
) -> list[EntryCover]:
    """The cover of each piece of work by the procedure it asks."""
    then = usable_then(organisation, {work for row, code in rows for work in works_of(row, code)}, known_by)
    return [cover_with(row, code, then) for row, code in rows]


def works_of(row: Done, code: str) -> list[Work]:
    """Whoever did it, and whoever stood by."""
    people = [pk for pk in (row.done_by_id, row.stood_by_id) if pk]
    return [Work(code, pk, row.happened_on, row.happened_at, row.recorded_at) for pk in people]


def cover_with(row: Done, code: str, then: Mapping[Work, Then], title: str = "") -> EntryCover:
    answers = [then.get(work, Then(usable=False)) for work in works_of(row, code)]
    people = [person for person in (row.done_by, row.stood_by) if person]
    doer, *near = [Present(str(who), said.usable, said.by_time) for who, said in zip(people, answers, strict=True)]
    return entry_cover(doer, near, procedure=title or code or None)


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
