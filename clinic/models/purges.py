"""What is no longer kept, and what must be kept although its time is over."""

from django.db import models

from clinic.models.records import Fact


class LegalHold(Fact):
    """Nothing of the site is purged while this stands. It is lifted by taking it back, with the reason."""

    free_lines = ("said",)

    said = models.CharField(max_length=300, db_comment="What for: a claim, a request, an inquiry. No names")


class Purged(Fact):
    """The contents of these facts were taken away after their period. Their seals stay, and this says what they sealed."""

    free_lines = ("what", "rule")

    what = models.CharField(max_length=40, db_comment="A line of the table in clinic.rules.purging")
    rule = models.CharField(max_length=240, db_comment="The period in words, with its source")
    kept_through = models.DateField(db_comment="The last day on which the last of them had to be there")
    contents = models.JSONField(db_comment="Id of each fact → the digest of what it said")
