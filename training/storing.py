"""Storing the timelines that wait, behind the pages."""

from django.db import connection, transaction

from clinic.models import Organisation, Site
from training import gather
from training.models import SpansWaiting
from training.spans import PEOPLE, Changes, keys_of, tell, write_both

BATCH = 40
"""People in one transaction: while it lasts nobody records in their organisation."""


def store_some() -> int:
    """Of how many people the timelines were stored. None is when none waits, or somebody records just now.

    Whoever stores holds the row of every site of the organisation, as whoever records holds that of one: so it sees all of a fact
    or none of it, and never writes what is older over what is newer. It waits for none of them, and so nobody waits
    for it in a circle. Where it dies in the middle, all of them still wait.
    """
    first = SpansWaiting.objects.order_by("pk").values_list("person__organisation", flat=True).first()
    if first is None:
        return 0
    with transaction.atomic():
        organisation = Organisation.objects.get(pk=first)
        return store(organisation) if is_held(organisation) else 0


def is_held(organisation: Organisation) -> bool:
    """Whether every site is this transaction's now."""
    sites = Site.objects.filter(organisation=organisation)
    free = sites.select_for_update(skip_locked=connection.features.has_select_for_update_skip_locked)
    return len(free.order_by("pk").values_list("pk")) == sites.count()


def store(organisation: Organisation) -> int:
    """What waits longest. All that may change with it waits too, and so nothing follows."""
    waiting = SpansWaiting.objects.filter(person__organisation=organisation)
    people = list(dict.fromkeys(waiting.order_by("pk").values_list("person", flat=True)[: 4 * BATCH]))[:BATCH]
    marks = list(SpansWaiting.objects.filter(person__in=people))
    codes = {code for mark in marks for code in mark.codes}
    batch = PEOPLE.all(keys=people)  # nobody who records holds one of them now, but who writes all of them anew may
    changes: Changes = {}
    write_both(gather.programme(organisation), organisation, batch, codes, keys_of(organisation), changes)
    tell(changes)
    SpansWaiting.objects.filter(pk__in=[mark.pk for mark in marks]).delete()
    return len(batch)


def store_waiting() -> int:
    """All of it."""
    done = 0
    while stored := store_some():
        done += stored
    return done
