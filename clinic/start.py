"""What is looked at before the register is served: the clock, against the newest record."""

from django.core.management.base import CommandError
from django.db.models import Max

from clinic import clock
from clinic.models import Site
from clinic.rules.jumps import refusal

REMEDY = (
    "Set the clock of this computer. If it is right, and a record was made while it was wrong (or nothing was recorded for "
    "very long), say so openly: manage.py clock right --said “…”; the record keeps that you did."
)


def refuse_wrong_clock() -> None:
    """CommandError where the clock is before the newest record, or absurdly long after it. Otherwise it is watched from now."""
    newest = Site.objects.aggregate(at=Max("last_recorded_at"))["at"]
    if says := refusal(newest, clock.now()):
        raise CommandError(f"{says} {REMEDY}")
    clock.watch.start()
