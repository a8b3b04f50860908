"""Several tasks that were done as one work are logged in one go: all of them, or none."""

from collections.abc import Sequence

from django.db import transaction

from clinic.actions.readings import DoneTask, Logged, log_work
from clinic.models import Person


@transaction.atomic
def log_together(works: Sequence[DoneTask], *, by: Person) -> list[Logged]:
    """Each an entry of its own, with its own cover, in the order of the work."""
    return [log_work(work, by=by) for work in works]
