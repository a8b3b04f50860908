"""How a fact enters the record: added, sealed and told to whoever keeps timelines, all in one transaction.

The same submission twice is one fact: the id is made by whoever fills in the form, and a second arrival finds the first.
"""

from dataclasses import dataclass
from datetime import timedelta
from typing import Any, TypeVar, cast

from django.db import models, transaction
from django.dispatch import Signal

from clinic import clock
from clinic.models import Change, Fact, FactPart, Person, Seal, Site, Voiding
from clinic.rules.seal import digest, link

F = TypeVar("F", bound=Fact)

# Sent inside the transaction with `fact`; what a listener raises undoes the record, so that spans never lag behind facts.
fact_recorded = Signal()
# Columns that differ between two arrivals of the same submission.
MADE_HERE = {"recorded_at", "recorded_by_id"}


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


def refuse_if(*refusals: Refusal | None) -> None:
    """Raise with every refusal that is not None."""
    standing = [refusal for refusal in refusals if refusal]
    if standing:
        raise Refused(*standing)


@transaction.atomic
def record(fact: F, *parts: FactPart, by: Person | None) -> F:
    """Add the fact and its parts, seal it, tell the listeners. Returns the fact recorded first under this id."""
    site = Site.objects.select_for_update().get(pk=fact.site_id)
    earlier = cast(F | None, type(fact)._default_manager.filter(pk=fact.pk).first())
    if earlier is not None:
        return same_submission(earlier, fact)
    check_correction(fact)
    fact.recorded_by = by
    fact.recorded_at = after_the_last_of(site)
    fact.save(force_insert=True)
    for part in parts:
        part.save(force_insert=True)
    seal(fact, site)
    fact_recorded.send(sender=type(fact), fact=fact)
    return fact


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


def check_correction(fact: Fact) -> None:
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


def after_the_last_of(site: Site) -> Any:
    """Now, but always later than the site's last fact: facts of one site have one order, even when a clock stands still."""
    now = clock.now()
    if site.last_recorded_at is not None and now <= site.last_recorded_at:
        return site.last_recorded_at + timedelta(microseconds=1)
    return now


def seal(fact: Fact, site: Site) -> Seal:
    """The next link of the site's chain, and the site's head moved to it. The caller holds the site's row."""
    content, position = digest(fact.sealed_content()), site.last_position + 1
    row = Seal.objects.create(
        site=site,
        position=position,
        kind=fact.fact_kind(),
        fact=fact.pk,
        corrects=fact.corrects,
        recorded_at=fact.recorded_at,
        content_digest=content,
        previous=site.last_digest,
        digest=link(site.last_digest, position, str(site.pk), fact.fact_kind(), str(fact.pk), content),
    )
    site.last_position, site.last_digest, site.last_recorded_at = position, row.digest, fact.recorded_at
    site.save(update_fields=["last_position", "last_digest", "last_recorded_at"])
    return row


def void(fact: Fact, *, by: Person, reason: str, id: Any = None) -> Voiding:
    """Take a fact away by a later one that names it and says why."""
    voiding = Voiding(
        site_id=fact.site_id, happened_on=clock.today(fact.site.time_zone), corrects=fact.pk, reason=reason.strip()
    )
    voiding.id = id or voiding.id
    return record(voiding, by=by)


def note_change(
    row: models.Model, before: dict[str, Any], after: dict[str, Any], *, site: Site, by: Person | None, said: str
) -> Change:
    """Record what was changed in reference data. Called in the transaction that changes it."""
    return record(
        Change(
            site=site,
            happened_on=clock.today(site.time_zone),
            about=row._meta.label_lower,
            about_id=str(row.pk),
            said=said[:240],
            before=before,
            after=after,
        ),
        by=by,
    )
