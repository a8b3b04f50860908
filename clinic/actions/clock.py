"""Putting right openly what a wrong clock did: a later fact says what happened. No instant is ever changed."""

from django.db import transaction

from clinic import clock
from clinic.models import Change, Person, Seal, Site
from clinic.models.records import plain
from clinic.reads.clock import jumps
from clinic.record import CLOCK, Refusal, instant_for, record, refuse_if
from clinic.rules.jumps import TOLERANCE

RIGHT = "put right"  # `Change.about_id` of the fact that says so
REPLAYED = "replayed"  # `Change.about_id` of the fact that says that a history was played
MOST_NAMED = 200


def say_replayed(site: Site, said: str, *, by: Person | None) -> Change:
    """Say openly, before a history is played at a site, that its clock is set for each act."""
    return record(
        Change(
            site=site, happened_on=clock.today(site.time_zone), about=CLOCK, about_id=REPLAYED, said=said, before={},
            after={"from": plain(clock.now())},
        ),
        by=by,
    )  # fmt: skip


@transaction.atomic
def put_right(site: Site, said: str, *, by: Person | None) -> list[Change]:
    """Record that the clock is right now, naming the seals whose instants lie beyond it. Returns the jumps this answers."""
    refuse_if(
        Refusal("What happened is not said.", "Say it in a sentence: it stays in the record.", "said")
        if not said.strip()
        else None
    )
    instant_for(
        Site.objects.select_for_update().get(pk=site.pk)
    )  # a jump that nobody recorded under is noted by it now
    beyond = Seal.objects.of_site(site).filter(recorded_at__gt=clock.now() + TOLERANCE)
    named = [{"position": row.position, "recorded_at": plain(row.recorded_at)} for row in beyond[:MOST_NAMED]]
    fact = Change(
        site=site, happened_on=clock.today(site.time_zone), about=CLOCK, about_id=RIGHT, said=said.strip()[:240],
        before={"beyond": named, "how_many": beyond.count()}, after={"right_at": plain(clock.now())},
    )  # fmt: skip
    answered = jumps(site)
    fact.after["answers"] = [str(jump.pk) for jump in answered]
    record(fact, by=by)
    return answered
