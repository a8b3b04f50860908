"""Taking away what need not be kept any longer, openly: shown first, by its number, never inside its period or under a hold.

The contents go; the seal of each stays where it is in the chain, and a sealed note says what it sealed. So the log holds.
"""

from collections.abc import Sequence
from uuid import UUID, uuid4

from django.db import connection, transaction

from clinic import clock
from clinic.models import Fact, Incident, LegalHold, Person, Purged, Seal, Site, Voiding
from clinic.models.refusal import deletions_allowed
from clinic.reads.purging import PurgeLine, holds, offer
from clinic.record import Refusal, record, refuse_if
from clinic.rules.purging import last_kept, line_of
from clinic.rules.words import counted, day_words


@transaction.atomic
def purge(what: str, count: int, *, site: Site, by: Person | None, years: int = 0) -> Purged:
    """Take away the contents of every record of that line whose period is over. `count` is how many were shown."""
    site = Site.objects.select_for_update().get(pk=site.pk)
    today = clock.today(site.time_zone)
    here = offer(line_of(what), site, today, years)
    refuse_if(*against(here, count, site))
    over = here.over
    sealed = dict(Seal.objects.filter(fact__in=[fact.pk for fact in over]).values_list("fact", "content_digest"))
    note = Purged(
        site=site, happened_on=today, what=what, rule=here.line.rule,
        kept_through=last_kept(here.line, [fact.happened_on for fact in over], years),
        contents={str(fact.pk): sealed[fact.pk] for fact in over},
    )  # fmt: skip
    note = record(note, by=by)
    taken_away(over)
    return note


def against(here: PurgeLine, count: int, site: Site) -> list[Refusal | None]:
    held = holds(site)
    return [
        Refusal(f"A legal hold stands: {held[0].said}.", "Lift it first, with the reason.") if held else None,
        Refusal(here.line.why_not) if here.line.why_not else None,
        Refusal(f"The period of none of the {here.line.says} is over.", f"They are kept {here.line.rule}.")
        if not here.line.why_not and not here.over
        else None,
        Refusal(f"{counted(len(here.over), 'record')} would go, and {count} was said.", "Look at them again.")
        if here.over and count != len(here.over)
        else None,
    ]


def taken_away(over: Sequence[Fact]) -> None:
    """The rows go, and with the same transaction the database refuses again that any other does."""
    models = list(dict.fromkeys(type(fact) for fact in over))
    with deletions_allowed(models):
        for model in models:
            keys = [fact.pk for fact in over if type(fact) is model]
            model._default_manager.filter(pk__in=keys)._raw_delete("default")
        connection.check_constraints([model._meta.db_table for model in models])


def hold(said: str, *, site: Site, by: Person | None, id: UUID | None = None) -> LegalHold:
    """From now on nothing of the site is purged."""
    refuse_if(
        Refusal("What for is not said.", "Say it in a sentence, without names.", "said") if not said.strip() else None
    )
    today = clock.today(site.time_zone)
    return record(LegalHold(id=id or uuid4(), site=site, happened_on=today, said=said.strip()), by=by)


def lift(held: LegalHold, reason: str, *, by: Person | None) -> Voiding:
    """The hold no longer stands. Both stay on record."""
    today = clock.today(held.site.time_zone)
    voiding = Voiding(site_id=held.site_id, happened_on=today, corrects=held.pk, reason=reason.strip())
    return record(voiding, by=by)


def shown(fact: Fact) -> str:
    """A record as the list shows it before it goes: its kind and its day, and nothing that is confidential."""
    kind = fact.kind if isinstance(fact, Incident) else fact._meta.verbose_name
    return f"{kind} of {day_words(fact.happened_on)}"
