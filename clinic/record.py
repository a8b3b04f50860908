"""How a fact enters the record: added, sealed and told to whoever keeps timelines, all in one transaction.

The same submission twice is one fact: the id is made by whoever fills in the form, and a second arrival finds the first.
"""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from typing import Any, TypeVar, cast
from uuid import UUID

from django.db import transaction
from django.dispatch import Signal

from clinic import clock
from clinic.facts import row_of
from clinic.models import Change, Fact, FactPart, Person, Seal, Site, Voiding
from clinic.models.records import plain
from clinic.models.refusal import shape_of
from clinic.prepared import Instances, Prepared, remembered
from clinic.rights import against_putting_right, against_recording
from clinic.rules.jumps import FORWARD, TOLERANCE, back_words, forward_words, stepped_back
from clinic.rules.letters import SUPPLY, lacks, not_printed
from clinic.rules.merkle import grown
from clinic.rules.seal import FORM, digest, link
from clinic.written import add_row, change_row

F = TypeVar("F", bound=Fact)

# Sent inside the transaction with `fact`; what a listener raises undoes the record, so that spans never lag behind facts.
fact_recorded = Signal()
SEALED_AS = Prepared(lambda fact: Seal.objects.filter(fact__in=fact).values_list("kind"))
NEWEST = Prepared(
    lambda site, until: (
        Seal.objects.filter(site__in=site, recorded_at__lte=until[0])
        .order_by("-recorded_at")
        .values_list("recorded_at")[:1]
    )
)
# Columns that differ between two arrivals of the same submission.
MADE_HERE = {"recorded_at", "recorded_by_id"}
HEAD = ("last_position", "last_digest", "last_recorded_at", "peaks")  # columns of a site that its newest seal moves
# `Change.about` of what is recorded about the clock, and `about_id` of its jumps.
CLOCK, BACK, AHEAD = "clinic.clock", "stepped back", "ran ahead"


@dataclass(frozen=True, slots=True)
class Refusal:
    """One reason why something is not recorded, and what would supply it. `field` names the form field, where there is one."""

    says: str
    supply: str = ""
    field: str = ""


class Refused(Exception):
    """Nothing was recorded. Carries every reason at once."""

    def __init__(self, *refusals: Refusal) -> None:
        super().__init__("; ".join(refusal.says for refusal in refusals))
        self.refusals = list(refusals)


class NotAllowed(Refused):
    """Nothing was recorded, because it is not this person's to do. `says` names whom to ask."""

    def __init__(self, says: str) -> None:
        super().__init__(Refusal(says))
        self.says = says


def only_if_allowed(against: str | None) -> None:
    """Raise where there is a reason against it."""
    if against is not None:
        raise NotAllowed(against)


def refuse_if(*refusals: Refusal | None, sent: UUID | None = None) -> None:
    """Raise with every refusal that is not None.

    `sent`: the number of the form. What is recorded under it already was right when it was sent first, whatever happened
    since: then nothing is refused here, and `record` compares what both sendings say."""
    standing = [refusal for refusal in refusals if refusal]
    if standing and not (sent and Seal.objects.filter(fact=sent).exists()):
        raise Refused(*standing)


HELD = Instances(Site, lambda site: Site.objects.select_for_update().filter(pk__in=site))
"""The row of the site, which nobody else gets until the transaction ends."""


@contextmanager
def holding(site: Site) -> Iterator[None]:
    """Inside the block, in a transaction, nobody else records at the site: for an act that reads much of what its fact is
    followed by reading again."""
    with remembered():
        HELD.all(site=[site.pk])
        yield


_at: ContextVar[int | None] = ContextVar("the site at which a fact is recorded just now", default=None)


def recording_at() -> int | None:
    """The key of the site at which a fact is recorded just now, for those who are told of it: its row is held."""
    return _at.get()


@transaction.atomic
def record(fact: F, *parts: FactPart, by: Person | None) -> F:
    """Add the fact and its parts, seal it, tell the listeners. Returns the fact recorded first under this id.

    Whether `by` may is asked here of the policy, whatever door they came by."""
    (site,) = HELD.all(site=[fact.site_id])
    with remembered():  # from here on, while the site's row is held
        taken = sealed_as(fact.pk)
        if taken == fact.fact_kind():
            return same_submission(cast(F, type(fact)._default_manager.get(pk=fact.pk)), fact)
        refuse_if(already_another() if taken else None)
        refuse_if(*against_letters(fact))
        check_correction(fact, by)
        add(fact, parts, site=site, by=by, at=instant_for(site))
    return fact


def sealed_as(key: UUID) -> str | None:
    """The kind of the fact that is recorded under this key; None where none is."""
    return next((kind for (kind,) in SEALED_AS.rows(fact=[key])), None)


def against_letters(fact: Fact) -> Iterable[Refusal]:
    """Why papers could not print what the fact names."""
    for name in fact.printed_names():
        if missing := not_printed(getattr(fact, name) or ""):
            yield Refusal(lacks(missing), SUPPLY, name)


def add(fact: Fact, parts: Iterable[FactPart], *, site: Site, by: Person | None, at: datetime) -> None:
    """The rows, the seal, and word to the listeners. The caller holds the site's row."""
    fact.recorded_by, fact.recorded_at = by, at
    add_row(fact)
    for part in parts:
        add_row(part)
    only_if_allowed(against_recording(by, fact))  # after its parts: a session's topics decide who may
    seal(fact, site)
    token = _at.set(site.pk)
    try:
        fact_recorded.send(sender=type(fact), fact=fact)
    finally:
        _at.reset(token)


def instant_for(site: Site) -> datetime:
    """When a fact of this site is recorded: now, and later than the fact before it, so that facts of one site have one
    order even when a clock stands still. Where the clock jumped, that is recorded first, as a fact of its own. The clock of
    a history that is played is set for each act, and has said so (`clinic.actions.clock.say_replayed`)."""
    now, last = clock.now(), site.last_recorded_at
    ahead = clock.ran_ahead()
    if clock.is_replayed():
        return next_instant(site, now)
    if last and stepped_back(last, now):
        note_jump(site, BACK, back_words(last, now), {"position": site.last_position, "recorded_at": plain(last)})
    elif ahead > FORWARD:
        note_jump(site, AHEAD, forward_words(ahead, now), {"position": site.last_position})
    return next_instant(site, now)


def next_instant(site: Site, now: datetime) -> datetime:
    """One fact stamped years ahead must not drag every later one with it: those that lie beyond the clock are left out."""
    last = site.last_recorded_at
    if last and stepped_back(last, now):
        last = next((at for (at,) in NEWEST.rows(site=[site.pk], until=[now + TOLERANCE])), None)
    return now if last is None or now > last else last + timedelta(microseconds=1)


def note_jump(site: Site, which: str, said: str, before: dict[str, Any]) -> None:
    now = clock.now()
    fact = Change(
        site=site, happened_on=clock.today(site.time_zone), about=CLOCK, about_id=which, said=said, before=before,
        after={"recorded_at": plain(now)},
    )  # fmt: skip
    add(fact, (), site=site, by=None, at=next_instant(site, now))


def same_submission(earlier: F, fact: F) -> F:
    """The fact recorded first, if the second arrival says the same; otherwise a refusal that loses neither."""
    first, second = (
        {name: value for name, value in row.own_content().items() if name not in MADE_HERE} for row in (earlier, fact)
    )
    if first != second:
        raise Refused(
            Refusal(
                "This form was sent before and is already recorded, with other content.",
                "Open what was recorded, and correct it by a later fact if it is wrong.",
            )
        )
    return earlier


def already_another() -> Refusal:
    """One id is one fact, whatever its kind."""
    supply = "Open this page anew from its address, and fill it in again."
    return Refusal("This form carries the number of something else that is recorded already.", supply)


def check_correction(fact: Fact, by: Person | None) -> None:
    if fact.corrects is None:
        return
    named = Seal.objects.filter(fact=fact.corrects).first()
    refuse_if(
        Refusal("The fact to be corrected is not in this register.", "Open it and start the correction from its page.")
        if named is None or named.site_id != fact.site_id
        else None,
        Refusal("That fact was already corrected.", "Correct the fact that stands in its place.")
        if Seal.objects.filter(corrects=fact.corrects).exists()
        else None,
        Refusal("A correction needs its reason.", "Say in a few words what was wrong.", "reason")
        if not fact.reason
        else None,
    )
    wrong = row_of(named.kind, named.fact) if named else None
    if isinstance(wrong, Fact):
        only_if_allowed(against_putting_right(by, wrong))


def seal(fact: Fact, site: Site) -> Seal:
    """The next link of the site's chain, and the site's head moved to it. The caller holds the site's row."""
    row = next_seal(fact, site)
    add_row(row)
    change_row(site, HEAD)
    return row


def next_seal(fact: Fact, site: Site) -> Seal:
    """The same, and neither is stored yet."""
    row = Seal(
        site=site, position=site.last_position + 1, kind=fact.fact_kind(), fact=fact.pk, corrects=fact.corrects,
        recorded_at=fact.recorded_at, form=FORM, shape_id=shape_digest(type(fact)),
        content_digest=digest(fact.sealed_content()), previous=site.last_digest,
    )  # fmt: skip
    row.digest = link(row.sealed)
    move_head(site, row)
    return row


@cache
def shape_digest(kind: type[Fact]) -> str:
    """What a seal of this kind covers, by its digest. The row under it was written after the last migration."""
    return shape_of(kind).digest


def move_head(site: Site, row: Seal) -> None:
    """The site ends at this seal. The tree grows by one leaf, at a cost that does not depend on how many there are."""
    site.peaks = " ".join(grown_by(site.peaks, site.last_position, row.digest))
    site.last_position, site.last_digest, site.last_recorded_at = row.position, row.digest, row.recorded_at


def grown_by(peaks: str, size: int, link: str) -> list[str]:
    found = grown([bytes.fromhex(peak) for peak in peaks.split()], size, bytes.fromhex(link))
    return [peak.hex() for peak in found]


def void(fact: Fact, *, by: Person, reason: str, id: Any = None) -> Voiding:
    """Take a fact away by a later one that names it and says why."""
    voiding = Voiding(
        site_id=fact.site_id, happened_on=clock.today(fact.site.time_zone), corrects=fact.pk, reason=reason.strip()
    )
    voiding.id = id or voiding.id
    return record(voiding, by=by)
