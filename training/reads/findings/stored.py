"""Every finding of a site on a day or in a period, with what was done about it.

They are read as they are stored; where a site waits to be stored (`FindingsKept`), and as known by an instant, they are
computed from the facts. Both say the same: `manage.py spans` proves it.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import Case, Count, Exists, IntegerField, OuterRef, Q, When

from clinic.models import Site
from clinic.prepared import Prepared
from clinic.reads.findings import EQUIPMENT, Gather
from clinic.rules.findings import DAY, Finding, Weight
from training.models import CorrectiveAction, FindingsKept, FindingSpan
from training.reads.findings.people import of_misses, of_rings, of_signatures, of_signers, of_training
from training.reads.findings.records import (
    of_clock,
    of_first_days,
    of_old_work,
    of_safeguards,
    of_seals,
    of_sessions,
    of_site_facts,
    of_work,
)
from training.reads.new_hazards import of_hazards
from training.reads.standing import known_once
from training.rules.findings_closed import ORDER, Action, Occurrence, Weighed, counts, occurrences, weighed_on
from training.waiting import anything_waits

KINDS: dict[str, Gather] = {
    **EQUIPMENT,
    "work": of_work,
    "old work": of_old_work,
    "training": of_training,
    "signature": of_signatures,
    "signers": of_signers,
    "ring": of_rings,
    "miss": of_misses,
    "hazards": of_hazards,
    "session": of_sessions,
    "first days": of_first_days,
    "site facts": of_site_facts,
    "seals": of_seals,
    "safeguards": of_safeguards,
    "clock": of_clock,
}
"""What each kind of finding is computed by, and so what its subjects are."""

BESIDE_STANDING = {
    "upkeep", "follow-up", "tool", "spores", "hazards", "session", "first days", "site facts", "seals", "safeguards", "clock",
}  # fmt: skip
"""Kinds of which none asks where anybody stands."""

SHOWN = timedelta(days=365)
"""How long an explained note stands beside the open ones. Older ones are in the binders of their time."""


A_PAGE = 60


def findings(
    site: Site,
    day: date,
    known_by: datetime | None = None,
    codes: Collection[str] | None = None,
    keys: Collection[str] | None = None,
) -> list[Weighed]:
    """What lasts on the day, the heaviest first, each with the corrective actions about this appearance of it by then.
    `codes`, `keys`: only those."""
    if known_by is None and is_kept(site):
        rows = FindingSpan.objects.filter(site=site).on(day)
        rows = rows if codes is None else rows.filter(code__in=codes)
        found = [plain(row) for row in (rows if keys is None else rows.filter(key__in=keys))]
    else:
        found = [one for one in computed(site, known_by) if one.holds_on(day)]
        found = [one for one in found if (codes is None or one.code in codes) and (keys is None or one.key in keys)]
    shown = weighed_on(day, found, actions(site, {one.key for one in found}, known_by))
    return [one for one in shown if one.is_open or day - SHOWN <= one.actions[0].day]


@dataclass(frozen=True, slots=True)
class FindingsShown:
    """A page of the open ones, and on the first page what was explained; how many are open of each weight in all."""

    open: Sequence[Weighed]
    closed: Sequence[Weighed]
    weights: Mapping[str, int]
    page: Page  # type: ignore[type-arg]


def findings_shown(site: Site, day: date, number: Any = 1) -> FindingsShown:
    """The same a page at a time, in the same order: a site that explains nothing for years has thousands."""
    weights = weights_on(site, day)
    page = Paginator(range(sum(weights.values())), A_PAGE).get_page(number)
    some = slice(page.object_list[0], page.object_list[-1] + 1) if page.object_list else slice(0, 0)
    if is_kept(site):
        explained, rows = explained_by(day), FindingSpan.objects.filter(site=site).on(day)
        still = rows.exclude(explained, weight=Weight.NOTE).order_by(RANK, "since", "key")[some]
        lately = rows.filter(explained, ~explained_by(day - SHOWN - DAY), weight=Weight.NOTE)
        found = [plain(row) for row in [*still, *(lately if page.number == 1 else ())]]
        shown = weighed_on(day, found, actions(site, {one.key for one in found}))
        open_ones = [one for one in shown if one.is_open]
    else:
        shown = findings(site, day)
        open_ones = [one for one in shown if one.is_open][some]
    closed = [one for one in shown if not one.is_open] if page.number == 1 else []
    return FindingsShown(open_ones, closed, weights, page)


def explained_by(day: date) -> Exists:
    """Whether somebody said by the day what was done about this appearance of it."""
    about = {"site": OuterRef("site"), "finding": OuterRef("key"), "since": OuterRef("since")}
    return Exists(CorrectiveAction.objects.live().filter(**about, happened_on__lte=day))


RANK = Case(*(When(weight=weight, then=place) for place, weight in enumerate(ORDER)), output_field=IntegerField())


def weights_on(site: Site, day: date) -> Mapping[str, int]:
    """How many of each weight are open on the day, for a page that names none of them: counted where they are stored."""
    if not is_kept(site):
        return counts(findings(site, day))
    found = dict(WEIGHTS.rows(site=[site.pk], day=[day]))
    return {weight.value: found.get(weight.value, 0) for weight in ORDER}


def weights_at(site: Any, day: Any) -> Any:
    rows = FindingSpan.objects.filter(site__in=site).on(day[0]).exclude(explained_by(day[0]), weight=Weight.NOTE)
    return rows.values_list("weight").annotate(Count("pk"))


WEIGHTS = Prepared(weights_at)
KEPT = Prepared(lambda site: FindingsKept.objects.filter(site__in=site).values_list("pk"))


def findings_in(site: Site, first: date, last: date, known_by: datetime | None = None) -> list[Occurrence]:
    """Every finding that stood on some day of the period, as it stood at its end."""
    if known_by is None and is_kept(site):
        stood = Q(after__isnull=True) | Q(after__gt=first) | Q(weight=Weight.NOTE)
        keys = FindingSpan.objects.filter(stood, site=site).begun_by(last).values("key")
        found = [plain(row) for row in FindingSpan.objects.filter(site=site, key__in=keys)]
    else:
        found = computed(site, known_by)
    return occurrences(found, actions(site, {one.key for one in found}, known_by), first, last)


def is_kept(site: Site) -> bool:
    """Not while standing waits that they rest on."""
    return not anything_waits() and any(KEPT.rows(site=[site.pk]))


def computed(site: Site, known_by: datetime | None = None) -> list[Finding]:
    """Every stretch of every finding, straight from the facts. A fixed number of queries, whatever the number of rows."""
    with known_once():
        return [one for gather in KINDS.values() for _, one in gather(site, None, known_by)]


def plain(row: FindingSpan) -> Finding:
    return Finding(
        row.key, Weight(row.weight), row.code, row.about, tuple(row.evidence), row.since, row.sentence, row.ends_when,
        row.first, row.after, row.counted_from,
    )  # fmt: skip


def actions(site: Site, keys: Collection[str], known_by: datetime | None = None) -> list[Action]:
    rows = CorrectiveAction.objects.live(known_by).filter(site=site, finding__in=keys).select_related("done_by")
    return [Action(str(row.pk), row.finding, row.since, row.done, str(row.done_by), row.happened_on) for row in rows]


def all_told(site: Site, kinds: Iterable[str] = KINDS) -> list[tuple[str, str, Finding]]:
    """Kind, subject and stretch of everything that the facts say of the site now."""
    return [(kind, subject, one) for kind in kinds for subject, one in KINDS[kind](site, None, None)]
