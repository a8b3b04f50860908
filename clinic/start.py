"""What is looked at before the register is served: the clock, against the newest record; who else may open its folder."""

from pathlib import Path

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


def shut(folder: Path) -> None:
    """The register's folder is its owner's only, also where somebody made it, or copied it, for everybody to read. PermissionError where
    it is somebody else's: then the register could not keep anything there either."""
    if folder.stat().st_mode & 0o077:
        folder.chmod(0o700)
