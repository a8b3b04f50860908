"""Keeping the stored spans equal to what the rules say, in the transaction that records a fact; and proving it."""

from collections.abc import Collection, Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

from django.db import transaction
from django.db.models import Q

from clinic.models import Fact, Organisation, Person, Seal, UpkeepEntry
from clinic.seals import row_of
from training import gather
from training.models import (
    Authority,
    CarriedOver,
    EvidenceSpan,
    FoundingGrant,
    KnowledgeResult,
    Observation,
    Procedure,
    Retirement,
    SignOff,
    StandingSpan,
    TaughtSession,
    Version,
    Withdrawal,
)
from training.rules.facts import Evidence, State
from training.rules.standing import Standing, timelines

BATCH = 200
_later: ContextVar[set[Any] | None] = ContextVar("people whose spans wait", default=None)


def refresh_after(sender: type[Fact], fact: Fact, **_: Any) -> None:
    """Listener of `fact_recorded`: rebuild whoever the fact touches, and whoever the fact it corrects touched."""
    touched = touched_by(fact)
    if fact.corrects:
        seal = Seal.objects.get(fact=fact.corrects)
        named = row_of(seal.kind, seal.fact)
        touched |= touched_by(named) if isinstance(named, Fact) else set()
    waiting = _later.get()
    if waiting is not None:
        waiting |= touched
    elif touched:
        rebuild(Person.objects.filter(pk__in=touched))


@contextmanager
def many_facts() -> Iterator[None]:
    """Inside the block spans wait; at its end everybody touched is rebuilt once. For imports, in one transaction."""
    token = _later.set(set())
    try:
        with transaction.atomic():
            yield
            rebuild(Person.objects.filter(pk__in=_later.get() or set()))
    finally:
        _later.reset(token)


def touched_by(fact: Fact) -> set[Any]:
    """People whose standing may change by the fact."""
    if isinstance(fact, Observation):
        return {fact.person_id, fact.observer_id} - {None}
    if isinstance(fact, KnowledgeResult | SignOff | Withdrawal | CarriedOver):
        return {fact.person_id}
    if isinstance(fact, UpkeepEntry):
        return {fact.done_by_id}
    if isinstance(fact, TaughtSession):
        return set(fact.attendances.values_list("person", flat=True))
    if isinstance(fact, Authority | FoundingGrant):
        home = Person.objects.filter(home_site=fact.site_id)
        return set(home.values_list("pk", flat=True)) | {fact.person_id}
    if isinstance(fact, Version | Retirement):
        return set(everybody_with_facts(fact.procedure.organisation))
    return set()


def everybody_with_facts(organisation: Organisation) -> Iterable[Any]:
    """A new version or a retirement can reach anybody in the organisation through prerequisites."""
    return StandingSpan.objects.filter(person__organisation=organisation).values_list("person", flat=True).distinct()


def rebuild(people: Iterable[Person]) -> None:
    """Write the spans of these people anew where they differ."""
    for organisation, batch in batches(people):
        procedures = {row.code: row for row in Procedure.objects.of(organisation)}
        wanted = computed(organisation, batch)
        for model, columns in ((StandingSpan, STANDING), (EvidenceSpan, EVIDENCE)):
            write(model, columns, batch, procedures, wanted)


def batches(people: Iterable[Person]) -> Iterator[tuple[Organisation, list[Person]]]:
    by_organisation: dict[Organisation, list[Person]] = {}
    for person in people:
        by_organisation.setdefault(person.organisation, []).append(person)
    for organisation, members in by_organisation.items():
        for start in range(0, len(members), BATCH):
            yield organisation, members[start : start + BATCH]


def computed(
    organisation: Organisation, people: Collection[Person], known_by: Any = None
) -> dict[str, dict[str, Standing]]:
    """Standing of each person in each procedure, straight from the facts."""
    program = gather.programme(organisation)
    found = gather.people_facts(organisation, people, known_by)
    return {pk: timelines(program, facts, known_by=known_by) for pk, facts in found.items()}


STANDING = (
    "person_id",
    "procedure_id",
    "first",
    "after",
    "state",
    "usable",
    "basis",
    "cause",
    "ends_on",
    "ends_because",
    "ends_by",
)
EVIDENCE = ("person_id", "procedure_id", "first", "after", "evidence")
Row = tuple[Any, ...]


def rows_wanted(model: Any, person: Person, procedure: Procedure, standing: Standing) -> list[Row]:
    """What is stored: everything but the stretches in which nothing is known, which need no row."""
    key = (person.pk, procedure.pk)
    if model is EvidenceSpan:
        return [(*key, s.first, s.after, s.state.value) for s in standing.evidence if s.state is not Evidence.NONE]
    return [
        (
            *key, s.first, s.after, s.state.value, s.state.is_usable, s.basis.value if s.basis else "", s.cause or "",
            s.ends_on, s.ends_because.value if s.ends_because else "", s.ends_by or "",
        )
        for s in standing.spans
        if s.state is not State.UNTRAINED
    ]  # fmt: skip


def write(
    model: Any, columns: tuple[str, ...], people: list[Person], procedures: dict[str, Procedure], wanted: Any
) -> None:
    """Replace only what differs: most facts touch one procedure of one person."""
    stored = stored_rows(model, columns, people)
    fresh = {
        (person.pk, procedures[code].pk): rows_wanted(model, person, procedures[code], standing)
        for person in people
        for code, standing in wanted[str(person.pk)].items()
    }
    changed = [key for key in {*stored, *fresh} if sorted(stored.get(key, [])) != sorted(fresh.get(key, []))]
    if not changed:
        return
    where = Q(pk__in=[])
    for person_id, procedure_id in changed:
        where |= Q(person=person_id, procedure=procedure_id)
    model.objects.filter(where).delete()
    model.objects.bulk_create(
        model(**dict(zip(columns, row, strict=True))) for key in changed for row in fresh.get(key, [])
    )


def stored_rows(model: Any, columns: tuple[str, ...], people: Collection[Person]) -> dict[Any, list[Row]]:
    found: dict[Any, list[Row]] = {}
    for row in model.objects.filter(person__in=people).values_list(*columns):
        found.setdefault(row[:2], []).append(row)
    return found


def differences(organisation: Organisation) -> list[str]:
    """Where the stored spans are not what the facts say, in words; empty when they are the same."""
    procedures = {row.code: row for row in Procedure.objects.of(organisation)}
    people = list(Person.objects.filter(organisation=organisation).select_related("organisation"))
    found = []
    for start in range(0, len(people), BATCH):
        batch = people[start : start + BATCH]
        wanted = computed(organisation, batch)
        for model, columns in ((StandingSpan, STANDING), (EvidenceSpan, EVIDENCE)):
            stored = stored_rows(model, columns, batch)
            for person in batch:
                for code, standing in wanted[str(person.pk)].items():
                    rows = rows_wanted(model, person, procedures[code], standing)
                    if sorted(rows) != sorted(stored.get((person.pk, procedures[code].pk), [])):
                        found.append(
                            f"{person.printed_name}, {code}: {model._meta.verbose_name} differs from the facts"
                        )
    return found
