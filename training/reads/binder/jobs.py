"""Jobs of a binder: each with its lot and how it came out, and what they come to by unit, lot, tool and cause."""

from clinic.reads.jobs import JobSaid, plain
from clinic.rules import jobs as rules
from clinic.rules.cover import EntryStanding
from training.documents.binder import content as b
from training.documents.binder.counted import BARE
from training.reads.binder.asked import BinderAsked

ALLOWED = {
    EntryStanding.HELD: "held",
    EntryStanding.STOOD_BY: "did not hold it",
    EntryStanding.NOBODY_USABLE: f"did not hold it; {BARE}",
}


def jobs(asked: BinderAsked) -> b.Extra:
    """Every job that was started in the period, by unit. A case has the practice’s own number, and no name."""
    found = sorted((job_line(asked, one) for one in asked.jobs), key=lambda row: row[0])
    heads = ["Day", "Case", "Lot", "Way", "Started by", "Allowed that day", "Came out", "Fact"]
    shares = [20, 20, 26, 10, 30, 22, 38, 16]
    return b.Extra("Jobs", "", heads, found, "jobs", shares, grouped=True)


def job_line(asked: BinderAsked, one: JobSaid) -> list[str]:
    job, end = one.job, one.end
    came = "not ended" if end is None else end.get_outcome_display().lower()
    came += f": {end.get_cause_display().lower()}" if end and end.cause else ""
    allowed = ALLOWED[one.cover.standing] + (f"; {job.stood_by} stood by" if job.stood_by else "")
    way, lot = "wet" if job.wet else "dry", f"{job.lot.lot}{f', code {job.code}' if job.code else ''}"
    return [job.equipment.label, asked.done_on(job), job.case, lot, way, str(job.done_by), allowed, came, str(job.pk)]  # fmt: skip


def job_counts(asked: BinderAsked) -> b.Extra:
    """Shares with their exact limits; by tool every job counts for each tool that sat there."""
    found = [plain(one.job, one.ends, one.tools) for one in asked.jobs]
    by = (("Unit", rules.by_unit), ("Lot", rules.by_lot), ("Tool", rules.by_tool))
    rows = [
        [f"{word} {one.name}", rules.share_words(one.remade, one.jobs), rules.share_words(one.crashed, one.jobs)]
        for word, names in by
        for one in rules.tallied(found, names)
    ]
    rows += [[f"Cause: {cause}", str(remade), str(crashed)] for cause, remade, crashed in rules.causes(found)]
    says = "Of the jobs that ended, with the exact 95 % limits of each share: where the limits of two overlap, they do not differ yet."
    return b.Extra(
        "Jobs made again, and crashes", says, ["What", "Made again", "Crashed"], rows, "job counts", [70, 50, 50]
    )
