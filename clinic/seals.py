"""Is the record what was sealed? One check with parts: some look through one site, some through the whole register.

`check_site` and `check_register` run every part. The clinic has the chains, the heads, and whose facts they are; training
adds the papers and the stored timelines (`training.apps`). A further part is one function and its line in a register here.
"""

from collections import defaultdict
from collections.abc import Callable, Container, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple
from uuid import UUID

from clinic.facts import fact_models, row_of
from clinic.models import Change, Fact, Purged, Seal, SealShape, Site
from clinic.models.records import columns_of, plain
from clinic.prepared import Prepared
from clinic.rules.merkle import grown
from clinic.rules.seal import FORMS, digest, link, sha256_hex
from clinic.sealed_rows import SaidNow, as_stored, as_written, of_words, said_now

BATCH = 4000
LEAST = -(1 << 63)  # below every position that a database holds, whatever it refuses


@dataclass(frozen=True, slots=True)
class Break:
    """One thing that does not hold: where in the chain (0: nowhere in it), what it is about, and what is wrong, in words."""

    position: int
    kind: str
    fact: str
    says: str
    part: str = "seals"


OfSite = Callable[[Site], Iterable[Break]]
OfRegister = Callable[[], Iterable[Break]]


def check_site(site: Site) -> list[Break]:
    """Every break that can be seen from one site, in order; empty when its record is whole. Reads in batches."""
    site = Site.objects.get(pk=site.pk)
    return [found for part in SITE_PARTS for found in part(site)]


def check_register() -> list[Break]:
    """Every break that no single site shows: sites that come from nowhere or are gone, facts and seals of none."""
    return [found for part in REGISTER_PARTS for found in part()]


def chain(site: Site) -> Iterator[Break]:
    """Each seal against the fact as it stands, and against the seal before it; then the head that the site keeps."""
    previous, expected, peaks, count, last = "", 1, list[bytes](), 0, None
    shapes = {row.digest: row.covers for row in SealShape.objects.all() if digest(row.covers) == row.digest}
    purged = purged_of(site)
    away = {of_words(fact) for fact in purged}
    for batch in batches(site):
        said, odd = said_in(batch, shapes), []
        for row in batch:
            if not (row.position == expected and row.previous == previous and row.is_whole(said, away)):
                odd.append((row.key, previous, expected))
            peaks = grown(peaks, count, bytes.fromhex(row.digest)) if is_digest(row.digest) else peaks
            expected = (row.position if isinstance(row.position, int) else expected) + 1
            previous, count, last = row.digest, count + 1, row.key
        yield from looked_at(odd, shapes, purged)
    if last is None:
        yield Break(0, "clinic.site", str(site.pk), "the site has no seal: not even its opening is recorded")
        return
    end = Seal.objects.get(pk=last)
    if head_of(site) != (end.position, end.digest, end.recorded_at) or end.position != count:
        yield broken(end, "the chain does not end where the site says it ends")
    elif " ".join(peak.hex() for peak in peaks) != site.peaks:
        yield broken(end, "the tree over the seals is not the one that the site keeps")


class Link(NamedTuple):
    """A seal as the database gives it, for a first look, with what it says as JSON: of the fact, and all that it binds. What
    is not whole at that is looked at as a `Seal`."""

    key: int
    position: Any
    previous: Any
    form: Any
    digest: Any
    kind: Any
    shape: Any
    fact: Any
    named: str
    says: SaidNow
    bound: tuple[str, ...]

    def is_whole(self, said: Mapping[str, SaidNow], purged: Container[str]) -> bool:
        """Whether the seal is what it says, and its fact stands as it was sealed. A fact that was purged is looked at."""
        return (
            self.named not in purged
            and said.get(self.named) == self.says
            and self.form in FORMS
            and sha256_hex(FORMS[self.form](*self.bound).encode()) == self.digest
        )


def said_in(batch: list[Link], shapes: dict[str, Any]) -> dict[str, SaidNow]:
    """What the facts of the batch say now, each covered as its seal says; without those that need a closer look."""
    models, found = fact_models(), dict[str, SaidNow]()
    wanted: dict[tuple[str, str], list[Any]] = defaultdict(list)
    for row in batch:
        wanted[row.kind, row.shape].append(row.fact)
    for (kind, shape), keys in wanted.items():
        covers = shapes.get(shape)
        if kind in models and covers and covers["kind"] == kind:
            found |= said_now(models[kind], covers, keys)
    return found


def looked_at(odd: list[tuple[int, str, int]], shapes: dict[str, Any], purged: Mapping[str, str]) -> Iterator[Break]:
    """What is wrong with each of these seals, given the digest and the place that it should follow."""
    rows = Seal.objects.in_bulk([key for key, _, _ in odd])
    facts = facts_of(list(rows.values()))
    for key, previous, expected in odd:
        row = rows[key]
        yield from (broken(row, says) for says in wrong(row, facts.get(row.fact), shapes, purged, previous, expected))


def is_digest(text: str) -> bool:
    return len(text) == 64 and not text.strip("0123456789abcdef")


def head_of(site: Site) -> tuple[int, str, Any]:
    return site.last_position, site.last_digest, site.last_recorded_at


def broken(row: Seal, says: str) -> Break:
    return Break(row.position, row.kind, str(row.fact), says)


SEALS = Prepared(
    lambda site, after: (
        Seal.objects.filter(site__in=site, position__gt=after[0])
        .order_by("position")
        .values_list(*as_stored(Seal))[:BATCH]
    )
)
TAKEN = ("id", "position", "previous", "form", "digest", "kind", "shape_id", "fact")
BOUND = ("previous", "position", "site", "kind", "fact", "corrects", "recorded_at", "shape_id", "content_digest")


def batches(site: Site) -> Iterator[list[Link]]:
    after: Any = LEAST
    while rows := SEALS.raw(site=[site.pk], after=[after]):
        yield links(rows)
        after = rows[-1][columns_of(Seal).index("position")]
        if not isinstance(after, int):
            return  # SQLite holds what is no number, too, and after every number


def links(rows: list[tuple[Any, ...]]) -> list[Link]:
    taken, said = dict(zip(columns_of(Seal), zip(*rows, strict=True), strict=True)), as_written(Seal, rows)
    said["site"] = [f'"{key}"' for key in said["site_id"]]  # a link binds it as text
    says = map(SaidNow, said["site_id"], said["corrects"], said["recorded_at"], said["content_digest"])
    bound = zip(*(said[name] for name in BOUND), strict=True)
    return [*map(Link, *(taken[name] for name in TAKEN), said["fact"], says, bound)]


def facts_of(batch: list[Seal]) -> dict[UUID, Fact]:
    """The facts that the seals name, as they stand in the database now, by id."""
    found: dict[UUID, Fact] = {}
    for kind, model in fact_models().items():
        ids = [row.fact for row in batch if row.kind == kind]
        if ids:
            rows = model._default_manager.filter(pk__in=ids).prefetch_related(*model.sealed_children)
            found |= {fact.pk: fact for fact in rows}
    return found


def wrong(
    row: Seal, fact: Fact | None, shapes: dict[str, Any], purged: Mapping[str, str], previous: str, expected: int
) -> Iterator[str]:
    if row.position != expected:
        yield f"seal {expected} is missing from the chain"
    if row.previous != previous:
        yield "the link to the seal before it is broken"
    if row.form not in FORMS:
        yield f"it was sealed in form {row.form}, which this version of the register does not know"
    elif row.digest != link(row.sealed, row.form):
        yield "the seal itself was changed"
    said = purged.get(str(row.fact))
    if said is None:
        yield from wrong_fact(row, fact, shapes.get(row.shape_id))
    elif fact is not None:
        yield "the fact was purged, and stands in the record again"
    elif said != row.content_digest:
        yield "the note of its purging names another content than was sealed"


def purged_of(site: Site) -> dict[str, str]:
    """What each purged fact of the site said, by its digest. The notes are sealed facts, checked like any other."""
    notes = Purged.objects.filter(site=site).values_list("contents", flat=True)
    return {fact: said for contents in notes for fact, said in contents.items()}


def wrong_fact(row: Seal, fact: Fact | None, covers: dict[str, Any] | None) -> Iterator[str]:
    if fact is None:
        yield "the fact is gone"
        return
    if covers is None or covers["kind"] != row.kind:
        yield "what the seal covers is not written down as it was"
        return
    try:
        same = digest(fact.sealed_content(covers)) == row.content_digest
    except (KeyError, ValueError) as gone:
        yield f"the fact cannot be read as it was sealed: {gone}"
        return
    if not same:
        yield "the fact is not what was sealed"
    for name in fact.said_beyond(covers):
        yield f"{name} came later, and was filled in afterwards"
    if (row.corrects, row.recorded_at, row.site_id) != (fact.corrects, fact.recorded_at, fact.site_id):
        yield "the seal names another site, instant or correction than its fact"


def check_fact(row: Seal) -> list[str]:
    """What does not hold of one seal: against its fact as it stands, and against the seal before it. Empty where it is whole.
    That nothing after it was cut off, only the check of the whole chain can say."""
    before = Seal.objects.filter(site=row.site_id, position=row.position - 1).first()
    shapes = {
        each.digest: each.covers
        for each in SealShape.objects.filter(pk=row.shape_id)
        if digest(each.covers) == each.digest
    }
    previous = before.digest if before else ""
    expected = row.position if before or row.position == 1 else row.position - 1
    site = Site.objects.get(pk=row.site_id)
    return list(wrong(row, facts_of([row]).get(row.fact), shapes, purged_of(site), previous, expected))


def own_opening(site: Site) -> Iterator[Break]:
    """A site begins with the fact that it was opened; one that was slipped in has none."""
    first = Seal.objects.of_site(site).first()
    fact = row_of(first.kind, first.fact) if first else None
    if first and not (isinstance(fact, Change) and opens(fact) == str(site.pk)):
        yield Break(1, "clinic.site", str(site.pk), "the chain does not begin with the opening of this site")


def opens(fact: Change) -> str:
    """The key of the site whose opening this is; empty where it is about something else."""
    return fact.about_id if fact.about == "clinic.site" and not fact.before else ""


def sites_that_are_gone() -> Iterator[Break]:
    """Every opening that is recorded anywhere names a site that is here, and the oldest site of that day."""
    here = {str(pk) for pk in Site.objects.values_list("pk", flat=True)}
    for fact in Change.objects.filter(about="clinic.site"):
        for named in dict.fromkeys([opens(fact), str(fact.after.get("oldest_site", "")) if opens(fact) else ""]):
            if named and named not in here:
                says = f"a site is gone: “{fact.said}” is recorded, and there is no site {named}"
                yield Break(0, "clinic.site", named, says)
    for strange in sorted({str(pk) for pk in Seal.objects.order_by().values_list("site", flat=True).distinct()} - here):
        yield Break(0, "clinic.site", strange, f"there are seals of a site {strange} that is not here")


def shapes() -> Iterator[Break]:
    """What seals cover stands under its own digest, and what they cover today is written down."""
    written = {row.digest: row.covers for row in SealShape.objects.all()}
    for key, covers in written.items():
        if digest(covers) != key:
            yield Break(0, "clinic.sealshape", key, "what seals cover is not written down as it was")
    for kind, model in fact_models().items():
        if digest(model.seal_covers()) not in written:
            yield Break(0, kind, "", f"what seals of {kind} cover is not written down: run “manage.py migrate”")


def strays() -> Iterator[Break]:
    """Facts without a seal, and facts of a site that is not here."""
    here = set(Site.objects.values_list("pk", flat=True))
    sealed = Seal.objects.values("fact")
    for kind, model in fact_models().items():
        for fact in model._default_manager.exclude(pk__in=sealed):
            yield Break(0, kind, str(fact.pk), "the fact stands in the record without a seal")
        for site in set(model._default_manager.order_by().values_list("site", flat=True).distinct()) - here:
            yield Break(
                0, kind, plain(site) or "none", f"facts stand in the record for a site that is not here: {site}"
            )


SITE_PARTS: list[OfSite] = [chain, own_opening]
REGISTER_PARTS: list[OfRegister] = [sites_that_are_gone, shapes, strays]
