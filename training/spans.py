"""Keeping the stored spans equal to what the rules say, in the transaction that records a fact; and proving it."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.dispatch import Signal

from clinic.facts import row_of
from clinic.models import Fact, Organisation, Person, Seal
from clinic.prepared import Instances, Prepared
from clinic.written import Table
from training import gather, waiting
from training.gather import OF_VERSION
from training.gather_near import OwnFacts, near_facts
from training.models import EvidenceSpan, Observation, SpansWaiting, StandingSpan
from training.rules.facts import Evidence, ProcedureFacts, State
from training.rules.order import resting_on, with_prerequisites
from training.rules.standing import Standing, timelines
from training.touched import Touched, by_person, together, touched_by, watched, watched_by_them
from training.work_logged import performers, that_may_change

BATCH = 200
FEW = 40  # people who are held while all that is stored of them is written anew
Row = tuple[Any, ...]
Changes = dict[Any, tuple[list[Row], list[Row]]]  # by person and procedure: what was stored before, and after

# Sent inside the transaction with `changes`: person and procedure → the stored rows (in the order of STANDING) before and after.
standing_changed = Signal()
_later: ContextVar[Touched | None] = ContextVar("people whose spans wait", default=None)


def refresh_after(sender: type[Fact], fact: Fact, **_: Any) -> None:
    """Listener of `fact_recorded`: rebuild whoever the fact touches, and whoever the fact it corrects touched."""
    touched = together(touched_by(fact), watched_by_them(fact))
    if fact.corrects:
        seal = Seal.objects.get(fact=fact.corrects)
        named = row_of(seal.kind, seal.fact)
        if isinstance(named, Fact):
            together(together(touched, touched_by(named)), watched_by_them(named))
    later = _later.get()
    if later is not None:
        together(later, touched)
    elif is_much(touched):
        wait(touched)
    else:
        if performers(fact) and not fact.corrects and any(touched.values()):
            PEOPLE.all(keys=[*touched])
            touched = that_may_change(fact, touched)
        rebuild_touched(touched, near=True)


def is_much(touched: Touched) -> bool:
    return sum(map(len, touched.values())) > waiting.AT_ONCE


@contextmanager
def many_facts(*, at_once: bool = False) -> Iterator[None]:
    """Inside the block spans are left; at its end everybody touched is rebuilt once, or waits where they are many and it is not
    asked for `at_once`. For imports, in one transaction."""
    token = _later.set({})
    try:
        with transaction.atomic():
            yield
            touched = _later.get() or {}
            if is_much(touched) and not at_once:
                wait(touched)
            else:
                rebuild_touched(touched)
    finally:
        _later.reset(token)


def wait(touched: Touched) -> None:
    """All that may change waits: the procedures touched and what rests on them, and of whomever these people watched in them. Where
    all of it waits of everybody, whoever was watched does so already."""
    rest: dict[tuple[int, frozenset[str]], set[str]] = {}
    marked: Touched = {}
    members = Person.objects.all() if len(touched) > BATCH else Person.objects.filter(pk__in=touched)
    for person, organisation in members.values_list("pk", "organisation"):
        if codes := frozenset(touched.get(person, ())):
            if (organisation, codes) not in rest:
                whole = gather.programme(Organisation.objects.get(pk=organisation))
                rest[organisation, codes] = resting_on(whole, codes)
            marked[person] = rest[organisation, codes]
    waiting.mark(marked)
    everything = set().union(*rest.values())
    everybody = Person.objects.filter(organisation__in={organisation for organisation, _ in rest}).count()
    if len(marked) < everybody or any(codes != everything for codes in marked.values()):
        watchers = SpansWaiting.objects.values("person")
        seen = watched(Q(observer__in=watchers, version__procedure__code__in=sorted(everything)))
        waiting.mark({person: codes - marked.get(person, set()) for person, codes in seen.items()})


def are_stored() -> bool:
    """Whether the stored spans are those of every fact: not in the middle of many."""
    return _later.get() is None


def rebuild(people: Iterable[Person]) -> None:
    """Write the spans of these people anew, in every procedure, where they differ, and of whomever they watched. A few at
    once are held while they are read and written: whoever records about them waits for that, and computes after it."""
    following: Touched = {}
    for keys in few_by_few([person.pk for person in people]):
        with transaction.atomic():
            for organisation, batch in batches(PEOPLE.all(keys=keys)):
                changes: Changes = {}
                together(following, rewrite(organisation, batch, None, changes))
                tell(changes)
    for keys in few_by_few([*following]):
        with transaction.atomic():
            rebuild_touched({key: following[key] for key in keys})


def few_by_few(keys: list[Any]) -> Iterator[list[Any]]:
    return (keys[start : start + FEW] for start in range(0, len(keys), FEW))


def rebuild_touched(touched: Touched, *, near: bool = False) -> None:
    """Write anew only what may differ: the procedures touched; then whatever rests on one of them in which somebody turns
    out to have been usable, or not, on other days; then what they watched on these days. It ends there: who watched never
    changes who may work alone.

    `near`: what the procedures rest on, and how far whoever watched could be relied on, is taken as it is stored. Where that
    turns out to change, whatever took it is written again after it. Of many facts at once the most would change so."""
    changes: Changes = {}
    while any(touched.values()):  # most of what is recorded is upkeep, and no procedure covers most of its tasks
        following: Touched = {}
        for organisation, batch in batches(PEOPLE.all(keys=[person for person, codes in touched.items() if codes])):
            codes = set().union(*(touched[person.pk] for person in batch))
            together(following, rewrite(organisation, batch, codes, changes, near=near))
        touched = following
    tell(changes)


def tell(changes: Changes) -> None:
    """Once, when all that follows is written: what rests on several of them is then judged once."""
    if changes:
        standing_changed.send(sender=StandingSpan, changes=changes)


def rewrite(
    organisation: Organisation,
    batch: list[Person],
    codes: set[str] | None,
    changes: Changes,
    *,
    near: bool = False,
) -> Touched:
    """The spans in these procedures, and in what rests on them where that may differ. Adds to `changes`. Returns whose
    assessments were watched on the days that changed for whoever watched, and in which procedures."""
    procedures = keys_of(organisation)
    programme = gather.programme(organisation)
    read = read_once(programme, organisation, batch, codes) if near and codes is not None else None
    moved = write_both(programme, organisation, batch, codes, procedures, changes, read)
    if codes is not None:
        code_of = {key: code for code, key in procedures.items()}
        above = resting_on(programme, {code_of[procedure] for _, procedure in moved}) - codes
        resting = resting_on(programme, above)  # what was written already, and rests on what was not, is written again
        people = {person for person, _ in moved}
        if resting:
            theirs = [person for person in batch if person.pk in people]
            again = write_both(programme, organisation, theirs, resting, procedures, changes, read)
            moved |= {key: min(first, moved.get(key, first)) for key, first in again.items()}
    return watched_since(moved) if moved else {}


def read_once(
    programme: Mapping[str, ProcedureFacts], organisation: Organisation, people: list[Person], codes: set[str]
) -> OwnFacts:
    """The facts of these people in these procedures; and in what rests on them, too, where an idle limit makes it likely that
    their last day moves and with it that of what rests on them."""
    has_limit = any(version.policy.idle_days for code in codes for version in programme[code].versions)
    return OwnFacts.of(organisation, programme, people, resting_on(programme, codes) if has_limit else codes)


def watched_since(moved: Mapping[Any, date]) -> Touched:
    """Whom these people watched in each procedure from the first day on that changed for them."""
    rows = WATCHED_SINCE.rows(
        watchers={person for person, _ in moved},
        procedures={procedure for _, procedure in moved},
        since=[min(moved.values())],
    )
    far = date.max
    return by_person(
        (person, code) for watcher, procedure, day, person, code in rows if day >= moved.get((watcher, procedure), far)
    )


WATCHED_SINCE = Prepared(
    lambda watchers, procedures, since: (
        Observation.objects.filter(
            observer__in=watchers,
            version__procedure__in=procedures,
            happened_on__gte=since[0],
            purpose=Observation.Purpose.ASSESSMENT,
        )
        .order_by()
        .values_list("observer", "version__procedure", "happened_on", "person", OF_VERSION)
        .distinct()
    )
)


def keys_of(organisation: Organisation) -> dict[str, int]:
    """The key of each procedure by its code."""
    return {code: pk for pk, code, *_ in gather.PROCEDURES.rows(organisation=[organisation.pk])}


def write_both(
    programme: Mapping[str, ProcedureFacts],
    organisation: Organisation,
    people: list[Person],
    codes: set[str] | None,
    procedures: dict[str, int],
    changes: Changes,
    read: OwnFacts | None = None,
) -> dict[Any, date]:
    """Spans of standing and evidence. Adds to `changes`. Returns by person and procedure the first day on which being usable
    changed."""
    fresh = (
        computed_near(programme, organisation, people, codes, read)
        if read is not None and codes is not None
        else computed_in(programme, organisation, people, only=codes)
    )
    write(EvidenceSpan, people, procedures, fresh)
    written = write(StandingSpan, people, procedures, fresh)
    for key, (before, after) in written.items():
        changes[key] = (changes[key][0] if key in changes else before, after)
    firsts = {key: first_change(*rows) for key, rows in written.items()}
    return {key: first for key, first in firsts.items() if first is not None}


# Held until the transaction ends: who records about them elsewhere at the same instant computes after it, with what it recorded.
PEOPLE = Instances(
    Person, lambda keys: Person.objects.filter(pk__in=keys).order_by("pk").select_for_update(no_key=True)
)


def batches(people: Iterable[Person]) -> Iterator[tuple[Organisation, list[Person]]]:
    by_organisation: dict[int, list[Person]] = {}
    for person in people:
        by_organisation.setdefault(person.organisation_id, []).append(person)
    for key, members in by_organisation.items():
        (organisation,) = gather.ORGANISATIONS.all(keys=[key])
        for start in range(0, len(members), BATCH):
            yield organisation, members[start : start + BATCH]


def computed(
    organisation: Organisation, people: Collection[Person], known_by: Any = None
) -> dict[str, dict[str, Standing]]:
    """Standing of each person in each procedure, straight from the facts."""
    return computed_in(gather.programme(organisation), organisation, people, known_by)


def computed_in(
    programme: Mapping[str, ProcedureFacts],
    organisation: Organisation,
    people: Collection[Person],
    known_by: Any = None,
    only: Collection[str] | None = None,
) -> dict[str, dict[str, Standing]]:
    part = programme if only is None else with_prerequisites(programme, *only)
    codes = None if only is None else part.keys()
    found = gather.people_facts(organisation, people, known_by, codes, evidence_in=only, whole=programme)
    return {pk: timelines(part, facts, known_by=known_by, only=only) for pk, facts in found.items()}


def computed_near(
    programme: Mapping[str, ProcedureFacts],
    organisation: Organisation,
    people: Collection[Person],
    codes: Collection[str],
    read: OwnFacts | None = None,
) -> dict[str, dict[str, Standing]]:
    """The same in these procedures only, with what they rest on as it is stored."""
    part = {code: programme[code] for code in codes}
    found = near_facts(organisation, people, codes, programme, read=read)
    return {pk: timelines(part, near.facts, usable=near.usable) for pk, near in found.items()}


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
FIRST, AFTER, USABLE = (STANDING.index(name) for name in ("first", "after", "usable"))
EVIDENCE = ("person_id", "procedure_id", "first", "after", "evidence")


def rows_wanted(model: Any, person: Person, procedure: int, standing: Standing) -> list[Row]:
    """What is stored: everything but the stretches in which nothing is known, which need no row."""
    key = (person.pk, procedure)
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
    model: Any,
    people: list[Person],
    procedures: dict[str, int],
    wanted: Any,
) -> Changes:
    """Replace only what differs: most facts touch one procedure of one person. Returns what that was before and is now."""
    fresh = {
        (person.pk, procedures[code]): rows_wanted(model, person, procedures[code], standing)
        for person in people
        for code, standing in wanted[str(person.pk)].items()
    }
    rows = stored_with_keys(model, people, {procedure for _, procedure in fresh})
    stored = by_pair(row for _, *row in rows)
    changed = [key for key in {*stored, *fresh} if sorted(stored.get(key, [])) != sorted(fresh.get(key, []))]
    if not changed:
        return {}
    gone = {*changed}
    TABLES[model].take_out([key for key, *row in rows if tuple(row[:2]) in gone])
    TABLES[model].put_in([row for key in changed for row in fresh.get(key, [])])
    return {key: (stored.get(key, []), fresh.get(key, [])) for key in changed}


def first_change(stored: list[Row], fresh: list[Row]) -> date | None:
    """The first day on which one of them says usable and the other does not."""
    return min(edges(stored) ^ edges(fresh), default=None)


def edges(rows: list[Row]) -> set[date]:
    """The days on which being usable begins or ends."""
    found: set[date] = set()
    for row in rows:
        if row[USABLE]:
            found ^= {row[FIRST]} | ({row[AFTER]} if row[AFTER] else set())
    return found


def stored_rows(model: Any, people: Collection[Person]) -> dict[Any, list[Row]]:
    return by_pair(row for _, *row in stored_with_keys(model, people, None))


def stored_with_keys(model: Any, people: Collection[Person], procedures: Collection[Any] | None) -> list[Row]:
    """Each row after its own key."""
    keys = None if procedures is None else list(procedures)
    return list(STORED[model].rows(people=[person.pk for person in people], procedures=keys))


def by_pair(rows: Iterable[Sequence[Any]]) -> dict[Any, list[Row]]:
    """By person and procedure."""
    found: dict[Any, list[Row]] = {}
    for row in rows:
        found.setdefault(tuple(row[:2]), []).append(tuple(row))
    return found


def stored(model: Any, columns: tuple[str, ...]) -> Prepared:
    return Prepared(
        lambda people, procedures: model.stored.filter(
            person__in=people, **({} if procedures is None else {"procedure__in": procedures})
        ).values_list("pk", *columns)
    )


COLUMNS = {StandingSpan: STANDING, EvidenceSpan: EVIDENCE}
STORED = {model: stored(model, columns) for model, columns in COLUMNS.items()}
TABLES = {model: Table(model, *columns) for model, columns in COLUMNS.items()}


def differences(organisation: Organisation) -> list[str]:
    """Where the stored spans are not what the facts say, in words; empty when they are the same. What waits to be stored is
    marked as that, and left out."""
    procedures = keys_of(organisation)
    people = list(Person.objects.filter(organisation=organisation).select_related("organisation"))
    found = []
    for start in range(0, len(people), BATCH):
        batch = people[start : start + BATCH]
        wanted = computed(organisation, batch)
        waits = waiting.waiting_of(batch)
        for model in STORED:
            stored = stored_rows(model, batch)
            for person in batch:
                for code, standing in wanted[str(person.pk)].items():
                    if code in waits.get(person.pk, ()):
                        continue
                    rows = rows_wanted(model, person, procedures[code], standing)
                    if sorted(rows) != sorted(stored.get((person.pk, procedures[code]), [])):
                        found.append(
                            f"{person.printed_name}, {code}: {model._meta.verbose_name} differs from the facts"
                        )
    return found
