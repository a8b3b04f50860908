"""Look-ups in the stored spans."""

from datetime import date
from uuid import UUID

from clinic.models import Organisation
from training.models import StandingSpan


def usable_keys(organisation: Organisation, procedure: str, on: date) -> set[UUID]:
    """Everybody who may do the procedure alone on the day; one indexed query."""
    spans = StandingSpan.objects.on(on).usable().filter(procedure__organisation=organisation, procedure__code=procedure)
    return set(spans.values_list("person", flat=True))
