"""What is read of stored spans that wait: what the facts say, of those only that the question may ask for.

What was computed is kept for as long as nothing is recorded in the organisation (the heads of its sites), so that a page which
asks ten times computes once. Only what a question says of people and procedures in plain sight narrows it; where it says
nothing of them, everything that waits is computed, which takes longer and comes to the same.
"""

from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Model, Q
from django.db.models.expressions import Col
from django.db.models.fields.related_lookups import RelatedExact, RelatedIn
from django.db.models.lookups import Exact, In
from django.db.models.sql import Query
from django.db.models.sql.where import AND, WhereNode

from clinic.models import Organisation, Person, Site
from training import gather, spans
from training.models import EvidenceSpan, Procedure, SpansWaiting, StandingSpan
from training.models.read_through import Fresh
from training.waiting import anything_waits

Pair = tuple[Any, str]  # person, procedure code
Rows = dict[Any, list[spans.Row]]  # by the model of the spans
PERSON, PROCEDURE = "person", "procedure"


@dataclass(slots=True)
class Kept:
    """What was computed since the last fact of the organisation."""

    heads: tuple[Any, ...] = ()
    rows: dict[Pair, Rows] = field(default_factory=dict)


_kept: dict[int, Kept] = {}


def fresh(model: type[Model], query: Query) -> Fresh | None:
    """What is to be read in the place of stored rows; None where nothing waits that the query may ask for."""
    if not anything_waits():
        return None
    people, procedures = asked_in(query)
    waiting: dict[int, dict[Any, set[str]]] = defaultdict(lambda: defaultdict(set))
    marks = SpansWaiting.objects.filter(people).values_list("person__organisation", "person", "codes")
    for organisation, person, codes in marks:
        waiting[organisation][person].update(codes)
    if not waiting:
        return None
    keys: dict[int, dict[str, int]] = defaultdict(dict)
    for organisation, code, key in Procedure.objects.filter(procedures).values_list("organisation", "code", "pk"):
        keys[organisation][code] = key
    pairs, rows = [], []
    for organisation, theirs in waiting.items():
        asked = {(who, code) for who, codes in theirs.items() for code in codes if code in keys[organisation]}
        pairs += [(who, keys[organisation][code]) for who, code in asked]
        rows += [row for found in computed(organisation, asked) for row in found[model]]
    return Fresh(pairs, rows) if pairs else None


def computed(organisation: int, asked: Collection[Pair]) -> Iterator[Rows]:
    """The rows of each pair, from the facts."""
    heads = tuple(Site.objects.filter(organisation=organisation).order_by("pk").values_list("pk", "last_digest"))
    kept = _kept.get(organisation)
    if kept is None or kept.heads != heads:
        kept = _kept[organisation] = Kept(heads)
    missing = asked - kept.rows.keys() if isinstance(asked, set) else set(asked) - kept.rows.keys()
    if missing:
        kept.rows.update(from_facts(Organisation.objects.get(pk=organisation), missing))
    return (kept.rows[pair] for pair in asked)


def from_facts(organisation: Organisation, asked: Collection[Pair]) -> Iterator[tuple[Pair, Rows]]:
    programme, keys = gather.programme(organisation), spans.keys_of(organisation)
    codes = {code for _, code in asked}
    people = {person.pk: person for person in Person.objects.filter(pk__in={who for who, _ in asked})}
    for _, batch in spans.batches(people.values()):
        for who, standings in spans.computed_in(programme, organisation, batch, only=codes).items():
            person = people[type(batch[0].pk)(who)]
            for code, standing in standings.items():
                rows = {
                    model: spans.rows_wanted(model, person, keys[code], standing)
                    for model in (StandingSpan, EvidenceSpan)
                }
                yield (person.pk, code), rows


ABOUT: dict[Any, tuple[str, str]] = {
    StandingSpan._meta.get_field("person"): (PERSON, "person"),
    EvidenceSpan._meta.get_field("person"): (PERSON, "person"),
    Person._meta.get_field("organisation"): (PERSON, "person__organisation"),
    Person._meta.get_field("home_site"): (PERSON, "person__home_site"),
    StandingSpan._meta.get_field("procedure"): (PROCEDURE, "pk"),
    EvidenceSpan._meta.get_field("procedure"): (PROCEDURE, "pk"),
    Procedure._meta.get_field("code"): (PROCEDURE, "code"),
    Procedure._meta.get_field("organisation"): (PROCEDURE, "organisation"),
}
"""Columns that narrow whom or what a question asks for, and where they are looked for."""


def asked_in(query: Query) -> tuple[Q, Q]:
    """Of which people (as rows that wait) and procedures the query asks, as far as it says so in plain sight."""
    found = {PERSON: Q(), PROCEDURE: Q()}
    for about, where in narrowings(query.where):
        found[about] &= where
    return found[PERSON], found[PROCEDURE]


def narrowings(where: WhereNode) -> Iterator[tuple[str, Q]]:
    """What has to hold of every row that is found. Whatever else is said may be left out: that only computes more."""
    if where.negated or where.connector != AND:
        return
    for each in where.children:
        if isinstance(each, WhereNode):
            yield from narrowings(each)
        elif isinstance(each, Exact | In | RelatedExact | RelatedIn) and isinstance(each.lhs, Col):
            about = ABOUT.get(each.lhs.target)
            if about and is_told(each.rhs):
                kind, path = about
                yield kind, Q(**{f"{path}__{each.lookup_name}": each.rhs})


def is_told(asked: Any) -> bool:
    """Values, or a question of its own; nothing that rests on the row of a question around it."""
    if isinstance(asked, Query):
        return not asked.get_external_cols()
    return not hasattr(asked, "resolve_expression")
