"""Keeping the stored findings equal to what the rules say, in the transaction that records a fact; and proving it.

A fact refreshes the subjects that it touches, and no others. What decides findings and is no fact (staff, job roles,
requirements, units, tasks) takes the mark of its site away instead: the findings are then computed whenever they are asked
for, until a worker has stored them anew.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import partial
from typing import Any

from django.db import connection, models, transaction

from clinic import clock
from clinic.models import (
    Equipment,
    Fact,
    MillingTool,
    Person,
    RoleHeld,
    Seal,
    Site,
    SiteFact,
    UpkeepEntry,
    UpkeepTask,
    Use,
)
from clinic.prepared import Instances, Prepared
from clinic.reads.findings import of_upkeep_since
from clinic.record import recording_at
from clinic.rules.findings import Finding, swept
from clinic.seals import row_of as fact_of
from clinic.written import Table
from training.finding_subjects import Subject as Touched
from training.finding_subjects import subjects_of, subjects_of_standing
from training.gather import ORGANISATIONS
from training.models import FindingsKept, FindingSpan, Procedure, Requirement
from training.reads.findings.stored import BESIDE_STANDING, KINDS, all_told, is_kept
from training.waiting import anything_waits

COLUMNS = (
    "key",
    "weight",
    "code",
    "about",
    "evidence",
    "since",
    "sentence",
    "ends_when",
    "first",
    "after",
    "counted_from",
)
FIRST = COLUMNS.index("first")
DAY = timedelta(days=1)
Subject = tuple[str, str]  # kind, what it is about
Row = tuple[Any, ...]


def refresh_after(sender: type[Fact], fact: Fact, **_: Any) -> None:
    """Listener of `fact_recorded`: what the fact touches, and what the fact that it corrects touched."""
    if nothing_to_refresh():
        return
    touched = subjects_of(fact)
    if fact.corrects:
        seal = Seal.objects.get(fact=fact.corrects)
        named = fact_of(seal.kind, seal.fact)
        touched |= subjects_of(named) if isinstance(named, Fact) else set()
    refresh_touched(
        touched, since=fact.happened_on if isinstance(fact, Use | UpkeepEntry) and not fact.corrects else None
    )


def refresh_after_standing(sender: Any, changes: Any, **_: Any) -> None:
    """Listener of `standing_changed`: whatever is judged by the standing of these people on the days that changed."""
    if nothing_to_refresh():
        return
    days = {key: changed_days(before, after) for key, (before, after) in changes.items()}
    moved = {key: of for key, of in days.items() if of}
    refresh_touched(subjects_of_standing(moved, clock.now().date() + DAY))


def nothing_to_refresh() -> bool:
    """No site's findings are stored, nor can anybody be storing them just now."""
    return not kept_sites() and not skips_locked()


def changed_days(before: Collection[Row], after: Collection[Row]) -> list[tuple[date, date | None]]:
    """On which usable, or what a deadline ended, is not what it was."""

    def said(rows: Collection[Row], day: date) -> tuple[bool, str]:
        here = next((row for row in rows if row[2] <= day and (row[3] is None or day < row[3])), None)
        return (bool(here and here[5]), here[7] if here and here[7].startswith("deadline:") else "")

    edges = [edge for row in (*before, *after) for edge in row[2:4]]
    found = swept(edges, lambda day: True if said(before, day) != said(after, day) else None)
    return [(first, end) for first, end, _ in found]


KEPT = Prepared(lambda: FindingsKept.objects.values_list("site"))


def kept_sites() -> set[int]:
    """Keys of those whose findings are stored. What waits is stored as a whole, so nothing that happens meanwhile is asked for."""
    return {pk for (pk,) in KEPT.rows()}


def refresh_touched(touched: Collection[Touched], since: date | None = None) -> None:
    """While standing waits, nothing is stored that rests on it: what is found then may be so no more when it is stored, of which
    nobody would hear who compares what is stored before and after. So the whole site waits."""
    sites = held({pk for pk, _, _ in touched})
    kept = kept_sites() & sites.keys()
    if kept and anything_waits():
        resting = {pk for pk, kind, _ in touched if kind not in BESIDE_STANDING}
        FindingsKept.objects.filter(site__in=resting & kept).delete()
        kept -= resting
    by_site: dict[int, list[Subject]] = defaultdict(list)
    for pk, kind, subject in touched:
        if pk in kept:
            by_site[pk].append((kind, subject))
    for pk in sorted(by_site):
        site = sites[pk]
        (site.organisation,) = ORGANISATIONS.all(keys=[site.organisation_id])
        refresh(site, by_site[pk], since)


def held(keys: Collection[int]) -> dict[int, Site]:
    """These sites, held to the end of the transaction: nobody else records there or stores findings meanwhile. Who holds one
    already may miss what is recorded here, and is not waited for, as they may wait for us: that site's findings are computed
    once this is known, until they are stored anew."""
    here = {recording_at()} & {*keys}
    found = SITES.all(keys=here) + FREE.all(keys=sorted({*keys} - here))
    if missing := {*keys} - {site.pk for site in found}:
        transaction.on_commit(partial(wait, missing))
    return {site.pk: site for site in found}


def skips_locked() -> bool:
    """Whether rows are held one by one; otherwise whoever writes has the whole database for themselves."""
    return connection.features.has_select_for_update_skip_locked


SITES = Instances(Site, lambda keys: Site.objects.filter(pk__in=keys))
FREE = Instances(
    Site, lambda keys: Site.objects.filter(pk__in=keys).order_by("pk").select_for_update(skip_locked=skips_locked())
)


def row_of(one: Finding) -> Row:
    return (
        one.key, one.weight.value, one.code, one.about, list(one.evidence), one.since, one.sentence, one.ends_when,
        one.first, one.after, one.counted_from,
    )  # fmt: skip


def refresh(site: Site, subjects: Iterable[Subject], since: date | None = None) -> None:
    """Write the findings of these subjects anew where they differ. `since`: nothing but a fact of that day was added."""
    by_kind: dict[str, set[str]] = defaultdict(set)
    for kind, subject in subjects:
        by_kind[kind].add(subject)
    if not by_kind:
        return
    stored = stored_about(site, by_kind)
    told: list[tuple[str, str, Finding]] = []
    whole_from: dict[str, date] = {}
    if since and "upkeep" in by_kind:
        found, whole_from = of_upkeep_since(site, by_kind.pop("upkeep"), since)
        told += (("upkeep", key, one) for key, one in found)
    told += ((kind, key, one) for kind, keys in by_kind.items() for key, one in KINDS[kind](site, keys, None))
    fresh = rows_by_subject(told)
    for key, day in whole_from.items():
        fresh["upkeep", key] += [row for row in stored.rows.get(("upkeep", key), ()) if row[FIRST] < day]
    replace(site, stored, fresh)


def rebuild(site: Site) -> None:
    """Write every finding of the site anew where it differs, and mark the site as kept."""
    with transaction.atomic():
        Site.objects.select_for_update().get(pk=site.pk)
        replace(site, stored_rows(site), rows_by_subject(all_told(site)))
        FindingsKept.objects.get_or_create(site=site)


def rebuild_waiting() -> list[Site]:
    """Store the findings of every site that waits for it, once no standing waits."""
    if anything_waits():
        return []
    waiting = list(Site.objects.exclude(pk__in=FindingsKept.objects.values("site")))
    for site in waiting:
        rebuild(site)
    return waiting


def rows_by_subject(told: Iterable[tuple[str, str, Finding]]) -> dict[Subject, list[Row]]:
    found: dict[Subject, list[Row]] = defaultdict(list)
    for kind, subject, one in told:
        found[kind, subject].append(row_of(one))
    return found


@dataclass(frozen=True, slots=True)
class StoredRows:
    """What is stored, by what it is about, and the keys of these rows in the same order."""

    rows: dict[Subject, list[Row]] = field(default_factory=lambda: defaultdict(list))
    keys: dict[Subject, list[int]] = field(default_factory=lambda: defaultdict(list))

    def add(self, subject: Subject, key: int, row: Row) -> None:
        self.rows[subject].append(row)
        self.keys[subject].append(key)


def stored_rows(site: Site) -> StoredRows:
    found = StoredRows()
    for kind, subject, key, *row in FindingSpan.objects.filter(site=site).values_list(
        "kind", "subject", "pk", *COLUMNS
    ):
        found.add((kind, subject), key, tuple(row))
    return found


STORED = Prepared(
    lambda site, subjects: FindingSpan.objects.filter(site__in=site, subject__in=subjects).values_list(
        "kind", "subject", "pk", *COLUMNS
    )
)
TABLE = Table(FindingSpan, "site_id", "kind", "subject", *COLUMNS)


def stored_about(site: Site, by_kind: Mapping[str, Collection[str]]) -> StoredRows:
    """The same of these subjects of each kind."""
    found = StoredRows()
    subjects = {subject for keys in by_kind.values() for subject in keys}
    for kind, subject, key, *row in STORED.rows(site=[site.pk], subjects=sorted(subjects)):
        if subject in by_kind.get(kind, ()):
            found.add((kind, subject), key, tuple(row))
    return found


def replace(site: Site, stored: StoredRows, fresh: dict[Subject, list[Row]]) -> None:
    changed = differing(stored.rows, fresh)
    TABLE.take_out([key for subject in changed for key in stored.keys.get(subject, ())])
    TABLE.put_in([(site.pk, *subject, *row) for subject in changed for row in fresh.get(subject, [])])


def differing(stored: dict[Subject, list[Row]], fresh: dict[Subject, list[Row]]) -> list[Subject]:
    """In order, the subjects whose rows are not the same."""
    return [
        subject
        for subject in sorted({*stored, *fresh})
        if sorted(stored.get(subject, []), key=repr) != sorted(fresh.get(subject, []), key=repr)
    ]


def differences(site: Site) -> list[str]:
    """Where the stored findings of a kept site are not what the facts say, in words; empty when they are the same."""
    if not is_kept(site):
        return []
    stored, fresh = stored_rows(site).rows, rows_by_subject(all_told(site))
    return [
        f"{site}, {kind}{f' {subject}' if subject else ''}: the stored findings differ from the facts"
        for kind, subject in differing(stored, fresh)
    ]


def wait(sites: Collection[Any]) -> None:
    """From now on the findings of these sites are computed until they are stored anew. Whoever stores them holds the site's
    row, and so sees either all of a change or none of it."""
    with transaction.atomic():
        keys = list(Site.objects.select_for_update().filter(pk__in=sites).order_by("pk").values_list("pk", flat=True))
        FindingsKept.objects.filter(site__in=keys).delete()


HEAD = {"last_position", "last_digest", "last_recorded_at"}  # moved by every fact; decides no finding


def wait_after_change(sender: type[models.Model], instance: models.Model, **more: Any) -> None:
    """Listener of what is saved or deleted and is no fact."""
    if sender is Site and (more.get("created") or {*(more.get("update_fields") or ())} & HEAD):
        return
    sites = sites_of(instance)
    if sites:
        wait(sites)


def sites_of(row: models.Model) -> list[Any]:
    """Where the row decides what is found."""
    if isinstance(row, Site):
        return [row.pk]
    if isinstance(row, Equipment | RoleHeld | MillingTool):
        return [row.site_id]
    if isinstance(row, Person):
        return list(Site.objects.filter(roles_held__person=row).distinct().values_list("pk", flat=True))
    if isinstance(row, Requirement):
        organisation = row.job_role.organisation_id
        return [row.site_id] if row.site_id else sites_in(organisation)
    if isinstance(row, Procedure):
        return sites_in(row.organisation_id)
    return list(Site.objects.values_list("pk", flat=True))


def sites_in(organisation: Any) -> list[Any]:
    return list(Site.objects.filter(organisation=organisation).values_list("pk", flat=True))


DECIDING: tuple[type[models.Model], ...] = (
    Site, Equipment, RoleHeld, MillingTool, Person, Requirement, Procedure, UpkeepTask, SiteFact,
)  # fmt: skip
"""What is no fact and decides findings."""
