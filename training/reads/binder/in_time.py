"""Days in time of each upkeep task in the period of a binder."""

from clinic.reads.days_in_time import TrackDays, days_of
from training.documents.binder import content as b
from training.reads.binder.asked import BinderAsked

HEADS = ["Task", "In time", "Overdue", "Stopped", "Overdue on"]
SHARES = [54, 32, 16, 16, 52]


def in_time(asked: BinderAsked) -> b.Extra:
    """By unit, those with most overdue days first; a task day is one day of one task on one unit."""
    found = days_of(asked.tasks, asked.first, min(asked.last, asked.as_of), asked.as_of)
    rows = [[unit.unit.label, *line(track)] for unit in found.units for track in unit.tracks]
    return b.Extra("Days in time", found.sentence, HEADS, rows, "in time", SHARES, grouped=True)


def line(track: TrackDays) -> list[str]:
    days = track.days
    return [str(track.one.task), track.says, str(days.overdue), str(days.stopped), "; ".join(track.late)]
