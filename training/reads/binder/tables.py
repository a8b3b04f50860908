"""Authority, who signed whom, and events without names, for a binder."""

from collections import defaultdict

from django.db.models import Q

from clinic.models.people import name_columns, name_in
from clinic.reads.incidents import events_of
from clinic.rules.words import in_text
from training.documents.binder import content as b
from training.models import Authority, FoundingGrant, SignOff
from training.reads.binder.asked import BinderAsked
from training.rules.wording import codes_in_runs


def authorities(asked: BinderAsked) -> list[b.AuthorityRow]:
    """Every grant that held on any day of the period."""
    held = Q(happened_on__lte=asked.last) & (Q(to_day__isnull=True) | Q(to_day__gte=asked.first))
    rows: list[Authority | FoundingGrant] = []
    for model in (Authority, FoundingGrant):
        rows += model.objects.live().filter(held, site=asked.site).select_related("person", "recorded_by")
    asked.facts |= {str(row.pk) for row in rows}
    rows.sort(key=lambda row: (row.person.family_name, row.person.given_name, row.happened_on))
    return [authority(asked, row) for row in rows]


def authority(asked: BinderAsked, row: Authority | FoundingGrant) -> b.AuthorityRow:
    return b.AuthorityRow(
        name=row.person.printed_name,
        covers=", ".join(
            filter(None, (codes_in_runs(row.procedures), *(f"everything in {area}" for area in row.areas)))
        ),
        since=row.happened_on.isoformat(),
        until=row.to_day.isoformat() if row.to_day else "",
        granted_by=str(row.recorded_by or "the register"),
        rests_on=f"founding grant: {in_text(row.get_rests_on_display())}"
        if isinstance(row, FoundingGrant)
        else "the practice’s appointment",
        written=asked.written(row),
    )


def signed(asked: BinderAsked) -> list[b.SignedRow]:
    """Who signed whom in the period at this site, and for what."""
    rows = SignOff.objects.live().filter(site=asked.site, happened_on__range=(asked.first, asked.last))
    pairs: dict[tuple[str, str], list[str]] = defaultdict(list)
    for row in rows.in_order().values("version__procedure__code", *name_columns("signer"), *name_columns("person")):
        pairs[name_in(row, "signer"), name_in(row, "person")].append(row["version__procedure__code"])
    return [
        b.SignedRow(signer, person, codes_in_runs(set(codes)), len(codes))
        for (signer, person), codes in sorted(pairs.items())
    ]


def events(asked: BinderAsked) -> list[b.EventRow]:
    """Injuries and events of the period, with what was learnt, and without any name. Oldest first."""
    rows = [event for event in events_of(asked.site)[::-1] if asked.first <= event.day <= asked.last]
    return [
        b.EventRow(
            day=event.day.isoformat(),
            kind=event.kind,
            area=event.place,
            device=event.unit or "none named",
            brand=event.item or "not said",
            how=event.how,
            learnt="; ".join(review.changed for review in event.reviews) or "not reviewed yet",
            contaminated=event.contaminated.lower(),
            logged=event.path.in_log,
        )
        for event in rows
    ]
