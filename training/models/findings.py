"""What was done about a finding. The findings themselves are computed."""

from django.db import models

from clinic.models import Fact, Person


class CorrectiveAction(Fact):
    """Closes one appearance of a finding: who did what about it, and when. If it comes back, it opens again."""

    free_lines = ("finding", "said")

    finding = models.CharField(max_length=160, db_index=True, db_comment="The finding's stable key")
    since = models.DateField(db_comment="The day from which this appearance of the finding stood")
    said = models.CharField(max_length=300, db_comment="The finding in words, as it was")
    done = models.TextField()
    done_by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    class Meta:
        indexes = [models.Index(fields=["site", "finding"], name="action_of_finding")]
