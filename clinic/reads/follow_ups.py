"""Readings out of limits that no good reading has closed yet, and those that one has."""

from datetime import date

from clinic.models import FollowUp, FollowUpClosed, Site


def follow_ups(site: Site) -> list[FollowUp]:
    """All of the site that stand, oldest due day first, each with `closed_on` (None: open). Two queries."""
    closed = dict(FollowUpClosed.objects.live().filter(site=site).values_list("follow_up", "happened_on"))
    rows = FollowUp.objects.live().filter(site=site).select_related("entry__equipment", "entry__task")
    found = list(rows.order_by("due_on", "recorded_at", "pk"))
    for row in found:
        row.closed_on = closed.get(row.pk)
    return found


def open_follow_ups(site: Site) -> list[FollowUp]:
    return [row for row in follow_ups(site) if row.closed_on is None]


def is_late(row: FollowUp, today: date) -> bool:
    return row.due_on < today
