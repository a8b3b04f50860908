"""What waits until the worker has stored it: where a fact touches so many that nobody could wait for it."""

from django.db import models

from clinic.models import Person


class SpansWaiting(models.Model):
    """The stored timelines of this person in these procedures are not what the facts say. They are computed whenever they are
    asked for, until a worker has stored them and takes the row away with that."""

    person = models.ForeignKey(Person, models.CASCADE, related_name="spans_waiting")
    codes = models.JSONField(db_comment="Of procedures, and of all that rests on them")
    since = models.DateTimeField()
