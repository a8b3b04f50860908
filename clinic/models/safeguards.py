"""What keeps the record itself safe: copies of it, and proof that a copy can be restored."""

from django.db import models

from clinic.models.people import Person
from clinic.models.records import Fact


class Safeguard(Fact):
    """A copy of the register was made, or one was restored on trial and its seals checked."""

    free_lines = ("said",)

    class Kind(models.TextChoices):
        BACKUP = "backup", "Backup"
        DRILL = "restore drill", "Restore drill"

    kind = models.CharField(max_length=20, choices=Kind)
    good = models.BooleanField(
        db_comment="Backup: the copy is complete. Drill: every seal of the restored copy is whole"
    )
    done_by = models.ForeignKey(
        Person, models.PROTECT, null=True, related_name="+", db_comment="Nobody: the register did it by itself"
    )
    said = models.CharField(max_length=300, db_comment="Where the copy is, or what the drill found")
