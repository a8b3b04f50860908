"""Critical misses by people who were usable, that nobody has answered."""

from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet

from clinic.models import Site
from training.models import CriticalMissAnswer, Observation, StandingSpan, Withdrawal
from training.waiting import PreparedSpans


def open_misses(site: Site) -> "QuerySet[Observation]":
    """Oldest first. Neither a reason why not nor a withdrawal since answers them; one query."""
    rows = open_at([site.pk]).select_related("person", "observer", "version__procedure")
    return rows.in_order()  # type: ignore[no-any-return]


def open_misses_now(site: Site) -> list[Observation]:
    """The same for a page: most often there is none, and nothing more is asked."""
    return list(open_misses(site)) if [*OPEN.rows(sites=[site.pk])] else []


def open_at(sites: Any) -> Any:
    day = OuterRef("happened_on")
    same = {"person": OuterRef("person"), "procedure": OuterRef("version__procedure")}
    missed = Observation.objects.filter(site__in=sites, critical_miss=True).values("person")
    usable = StandingSpan.objects.usable().filter(Q(after__isnull=True) | Q(after__gt=day), first__lte=day, **same)
    usable = usable.filter(person__in=missed)  # says no more than the line above, but of whom without this row
    withdrawn = Withdrawal.objects.live().filter(happened_on__gte=day, **same)
    answered = CriticalMissAnswer.objects.live().filter(observation=OuterRef("pk"))
    return Observation.objects.live().filter(
        Exists(usable), ~Exists(withdrawn), ~Exists(answered), site__in=sites, critical_miss=True
    )


OPEN = PreparedSpans(lambda sites: open_at(sites).order_by().values_list("pk"))
