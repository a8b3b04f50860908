"""Critical misses by people who were usable, that nobody has answered."""

from typing import Any

from django.db.models import Exists, OuterRef, Q

from clinic.models import Site
from clinic.prepared import Instances
from training.models import CriticalMissAnswer, Observation, StandingSpan, Withdrawal
from training.waiting import PreparedSpans


def open_misses(site: Site) -> list[Observation]:
    """Oldest first. Neither a reason why not nor a withdrawal since answers them. For a page that only names them: neither
    marks nor the words of the version are read."""
    return NAMED.all(keys=[key for (key,) in OPEN.rows(sites=[site.pk])])


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


NAMED = Instances(
    Observation,
    lambda keys: (
        Observation.objects.filter(pk__in=keys)
        .select_related("person", "observer", "version__procedure")
        .defer("marks", "version__content", "version__policy")
        .in_order()
    ),
)
OPEN = PreparedSpans(lambda sites: open_at(sites).order_by().values_list("pk"))
