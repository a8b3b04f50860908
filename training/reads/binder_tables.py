"""Authority, who signed whom, and events without names, for a binder."""

from collections import defaultdict

from django.db.models import Q

from clinic.models import Incident
from training.documents.binder import content as b
from training.models import Authority, FoundingGrant, SignOff
from training.reads.binder_asked import Asked


def authorities(asked: Asked) -> list[b.AuthorityRow]:
    """Every grant that held on any day of the period."""
    held = Q(happened_on__lte=asked.last) & (Q(to_day__isnull=True) | Q(to_day__gte=asked.first))
    rows: list[Authority | FoundingGrant] = []
    for model in (Authority, FoundingGrant):
        rows += model.objects.live().filter(held, site=asked.site).select_related("person", "recorded_by")
    asked.facts |= {str(row.pk) for row in rows}
    rows.sort(key=lambda row: (row.person.family_name, row.person.given_name, row.happened_on))
    return [authority(row) for row in rows]


def authority(row: Authority | FoundingGrant) -> b.AuthorityRow:
    founded = isinstance(row, FoundingGrant)
    return b.AuthorityRow(
        name=row.person.printed_name,
        covers=", ".join([*row.procedures, *(f"everything in {area}" for area in row.areas)]),
        since=row.happened_on.isoformat(),
        until=row.to_day.isoformat() if row.to_day else "",
        granted_by=str(row.recorded_by or "the register"),
        rests_on=f"founding grant, {row.get_rests_on_display()}" if founded else "the practice’s appointment",
    )


def signed(asked: Asked) -> list[b.SignedRow]:
    """Who signed whom in the period at this site, and for what."""
    rows = SignOff.objects.live().filter(site=asked.site, happened_on__range=(asked.first, asked.last))
    pairs: dict[tuple[str, str], list[str]] = defaultdict(list)
    for row in rows.select_related("person", "version__procedure").in_order():
        pairs[row.signer_name, row.person.printed_name].append(row.version.procedure.code)
    return [
        b.SignedRow(signer, person, ", ".join(sorted(set(codes))), len(codes))
        for (signer, person), codes in sorted(pairs.items())
    ]


def events(asked: Asked) -> list[b.Extra]:
    """Injuries and events of the period, with what was looked at, and without any name."""
    rows = Incident.objects.live().filter(site=asked.site, happened_on__range=(asked.first, asked.last)).in_order()
    lines = [
        [row.happened_on.isoformat(), row.get_kind_display(), row.place, row.item or "not said", row.how, reviewed(row)]
        for row in rows.prefetch_related("reviews")
    ]
    says = "Without names, and without medical detail. An injury never changed anybody’s standing."
    return (
        [b.Extra("Events", says, ["Day", "Kind", "Place", "Item", "How", "What was changed"], lines)] if lines else []
    )


def reviewed(row: Incident) -> str:
    return "; ".join(each.changed for each in row.reviews.all()) or "not reviewed yet"
