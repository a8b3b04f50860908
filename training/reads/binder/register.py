"""How the register itself is kept, for a binder: copies and trials of them, checks, how long records are kept, what was taken
away after its time, and what is held. A fixed number of queries."""

from datetime import date
from typing import Any

from clinic.models import Fact, LegalHold, Purged, Safeguard, Voiding
from clinic.rules.purging import TABLE
from clinic.rules.words import begun, counted, day_words
from training.documents.binder import content as b
from training.reads.binder.asked import BinderAsked
from training.reads.findings.records import checks_of
from training.reads.keeping import HEALTH
from training.rules.register_kept import NEVER, Held, KeptDone, register_says

CHECK = "check of the seals"
TAKEN = "Where somebody asks for it, with the command purge, once the period is over."


def register(asked: BinderAsked) -> tuple[list[str], list[b.Extra]]:
    """The sentences, which every form has, and the tables behind them."""
    done, purged, held = kept_safe(asked), purges(asked), holds(asked)
    counts = [(row.happened_on, len(row.contents)) for row in purged]
    says = register_says(done, counts, [one for _, one in held], asked.as_of)
    return says, [safe_table(asked, done), periods(), gone_table(asked, purged, held)]


def kept_safe(asked: BinderAsked) -> list[KeptDone]:
    """Everything of each kind by the last day that the binder speaks of."""
    last = max(asked.last, asked.as_of)
    rows = Safeguard.objects.live().filter(site=asked.site, happened_on__lte=last).select_related("done_by").in_order()
    copies = [KeptDone(row.kind, row.happened_on, row.good, str(row.done_by or ""), str(row.pk)) for row in rows]
    checks = checks_of(asked.site).filter(happened_on__lte=last).select_related("recorded_by")
    return copies + [
        KeptDone(CHECK, row.happened_on, not wrong_in(row.after), str(row.recorded_by or ""), str(row.pk))
        for row in checks
    ]


def wrong_in(found: dict[str, Any]) -> int:
    return int(found.get("breaks", 0)) + int(found.get("differences", 0))


def purges(asked: BinderAsked) -> list[Purged]:
    rows = Purged.objects.live().filter(site=asked.site, happened_on__range=(asked.first, asked.last))
    return list(rows.select_related("recorded_by").in_order())


def holds(asked: BinderAsked) -> list[tuple[LegalHold, Held]]:
    """Every hold that stood on some day of the period or on the day of the binder, lifted since or not."""
    rows = list(LegalHold.objects.filter(site=asked.site).select_related("recorded_by").in_order())
    ended = dict(
        Voiding.objects.filter(site=asked.site, corrects__in=[row.pk for row in rows]).values_list(
            "corrects", "happened_on"
        )
    )
    found = [(row, Held(row.happened_on, row.said, ended.get(row.pk))) for row in rows]
    first, last = min(asked.first, asked.as_of), max(asked.last, asked.as_of)
    return [(row, one) for row, one in found if one.since <= last and (one.lifted is None or first <= one.lifted)]


def safe_table(asked: BinderAsked, done: list[KeptDone]) -> b.Extra:
    """A line for each kind that was ever done: how often in the period, and how the last one went."""
    rows = [safe_line(asked, [one for one in done if one.kind == kind]) for kind in NEVER]
    heads = ["What", "In the period", "Went wrong", "Last by the day of this binder", "How it went", "By", "Fact"]
    shares = [30, 20, 18, 26, 40, 26, 16]
    return b.Extra("What keeps the register safe", "", heads, [row for row in rows if row], "register", shares)


def safe_line(asked: BinderAsked, done: list[KeptDone]) -> list[str]:
    """Nothing where it was not done by the day."""
    by_then = [one for one in done if one.day <= asked.as_of]
    if not by_then:
        return []
    period, last = [one for one in done if asked.first <= one.day <= asked.last], by_then[-1]
    wrong = sum(not one.good for one in period)
    return [begun(last.kind), str(len(period)), str(wrong), last.day.isoformat(), last.ended, last.who, last.fact]


def periods() -> b.Extra:
    rows = [[begun(line.says), begun(line.rule), line.why_not or TAKEN] for line in TABLE]
    says = f"The least that each kind of record is kept. {HEALTH}"
    return b.Extra(
        "How long records are kept", says, ["Records", "At least", "Taken away"], rows, "periods", [46, 64, 66]
    )


def gone_table(asked: BinderAsked, purged: list[Purged], held: list[tuple[LegalHold, Held]]) -> b.Extra:
    gone = [
        [iso(row), f"{counted(len(row.contents), 'record')} taken away: {row.what}", f"kept {row.rule}, through {day_words(row.kept_through)}", by(row), str(row.pk)]
        for row in purged
    ]  # fmt: skip
    kept = [[iso(row), f"legal hold: {row.said}", lifted_says(one.lifted), by(row), str(row.pk)] for row, one in held]
    heads, shares = ["Day", "What", "Why, or until when", "By", "Fact"], [20, 56, 56, 28, 16]
    return b.Extra("Taken away, and held", "", heads, sorted(gone + kept), "gone", shares)


def iso(row: Fact) -> str:
    return row.happened_on.isoformat()


def by(row: Fact) -> str:
    """Purging is a command, and names nobody."""
    return str(row.recorded_by or "by command")


def lifted_says(lifted: date | None) -> str:
    return f"lifted {day_words(lifted)}" if lifted else "it stands"
