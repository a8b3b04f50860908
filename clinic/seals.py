"""Checking a site's hash chain: every seal recomputed from the rows as they are now."""

from collections.abc import Iterator
from dataclasses import dataclass
from uuid import UUID

from django.apps import apps
from django.db.models import Model

from clinic.models import Fact, Seal, Site
from clinic.rules.seal import digest, link

BATCH = 500


@dataclass(frozen=True, slots=True)
class Break:
    """One thing that does not hold: where in the chain, which fact, and what is wrong, in words."""

    position: int
    kind: str
    fact: str
    says: str


def fact_models() -> dict[str, type[Fact]]:
    return {model.fact_kind(): model for model in apps.get_models() if issubclass(model, Fact)}


def check_site(site: Site) -> list[Break]:
    """Every break in the site's chain, in order; empty when the record is whole. Reads in batches."""
    site = Site.objects.get(pk=site.pk)
    breaks = list(broken_links(site))
    seals = Seal.objects.of_site(site)
    last = seals.last()
    if last and (last.position, last.digest) != (site.last_position, site.last_digest):
        breaks.append(
            Break(last.position, last.kind, str(last.fact), "the chain does not end where the site says it ends")
        )
    return breaks + list(unsealed_facts(site))


def broken_links(site: Site) -> Iterator[Break]:
    previous, expected = "", 1
    for batch in batches(site):
        contents = contents_of(batch)
        for row in batch:
            yield from (
                Break(row.position, row.kind, str(row.fact), says) for says in wrong(row, contents, previous, expected)
            )
            previous, expected = row.digest, row.position + 1


def batches(site: Site) -> Iterator[list[Seal]]:
    after = 0
    while batch := list(Seal.objects.of_site(site).filter(position__gt=after)[:BATCH]):
        yield batch
        after = batch[-1].position


def contents_of(batch: list[Seal]) -> dict[str, str]:
    """Digest of each fact's content as it stands in the database now, by id."""
    found: dict[str, str] = {}
    for kind, model in fact_models().items():
        ids = [row.fact for row in batch if row.kind == kind]
        found |= (
            {str(fact.pk): digest(fact.sealed_content()) for fact in model._default_manager.filter(pk__in=ids)}
            if ids
            else {}
        )
    return found


def wrong(row: Seal, contents: dict[str, str], previous: str, expected: int) -> Iterator[str]:
    now = contents.get(str(row.fact))
    if row.position != expected:
        yield f"seal {expected} is missing from the chain"
    if now is None:
        yield "the fact is gone"
    elif now != row.content_digest:
        yield "the fact is not what was sealed"
    if row.previous != previous:
        yield "the link to the seal before it is broken"
    if row.digest != link(row.previous, row.position, str(row.site_id), row.kind, str(row.fact), row.content_digest):
        yield "the seal itself was changed"


def unsealed_facts(site: Site) -> Iterator[Break]:
    sealed = Seal.objects.filter(site=site).values("fact")
    for kind, model in fact_models().items():
        for fact in model._default_manager.filter(site=site).exclude(pk__in=sealed):
            yield Break(0, kind, str(fact.pk), "the fact stands in the record without a seal")


def row_of(kind: str, fact_id: UUID) -> Model | None:
    """The fact that a seal names."""
    model = fact_models().get(kind)
    return model._default_manager.filter(pk=fact_id).first() if model else None
