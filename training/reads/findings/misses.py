"""Critical misses by people who were usable, that nobody has answered."""

from django.db.models import Exists, OuterRef, Q, QuerySet

from clinic.models import Site
from training.models import CriticalMissAnswer, Observation, StandingSpan, Withdrawal


def open_misses(site: Site) -> "QuerySet[Observation]":
    """Oldest first. Neither a reason why not nor a withdrawal since answers them; one query."""
    day = OuterRef("happened_on")
    same = {"person": OuterRef("person"), "procedure": OuterRef("version__procedure")}
    missed = Observation.objects.filter(site=site, critical_miss=True).values("person")
    usable = StandingSpan.objects.usable().filter(Q(after__isnull=True) | Q(after__gt=day), first__lte=day, **same)
    usable = usable.filter(person__in=missed)  # says no more than the line above, but of whom without this row
    withdrawn = Withdrawal.objects.live().filter(happened_on__gte=day, **same)
    answered = CriticalMissAnswer.objects.live().filter(observation=OuterRef("pk"))
    rows = Observation.objects.live().filter(
        Exists(usable), ~Exists(withdrawn), ~Exists(answered), site=site, critical_miss=True
    )
    return rows.select_related("person", "observer", "version__procedure").in_order()
