"""Look-ups in the stored spans; or, as known by an instant, in what the facts recorded by then say."""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db.models import Q

from clinic.models import Organisation, Person
from clinic.port import Work
from clinic.prepared import Prepared
from training import gather
from training.gather_near import near_facts, stored_days
from training.models import Observation, Procedure, StandingSpan
from training.rules import standing as rules
from training.rules.facts import Basis, Ending, Fact, ProcedureFacts, State
from training.rules.order import Moment, days_before, decides_later, known_versions, with_prerequisites
from training.rules.sentence import sentence
from training.spans import computed
from training.waiting import PreparedSpans

UNTRAINED = rules.StandingSpan(date.min, None, State.UNTRAINED)


@dataclass(frozen=True, slots=True)
class Held:
    """One stretch of a person's standing in a procedure, as far as others need it."""

    person: UUID
    code: str
    first: date
    after: date | None
    usable: bool
    cause: str


_shared: ContextVar[dict[tuple[int, datetime], list[Held]] | None] = ContextVar("standing known then", default=None)


@contextmanager
def known_once() -> Iterator[None]:
    """Inside the block what was known by an instant is computed from the facts once, whoever asks."""
    token = _shared.set({})
    try:
        yield
    finally:
        _shared.reset(token)


def held_by(organisation: Organisation, known_by: datetime | None = None, *, where: Q | None = None) -> list[Held]:
    """Every usable stretch, and every one that a version's deadline caused. `where`: of the stored ones only those; as known
    by an instant all are computed."""
    if known_by is not None:
        return known_then(organisation, known_by)
    rows = StandingSpan.objects.filter(Q(usable=True) | Q(cause__startswith="deadline:"))
    rows = rows.filter(where or Q(), procedure__organisation=organisation)
    return [Held(*row) for row in rows.values_list("person", "procedure__code", "first", "after", "usable", "cause")]


def held_past_deadline(organisation: Organisation, people: Collection[UUID]) -> list[Held]:
    """Every stretch of these people that a version's deadline caused."""
    return [Held(*row) for row in PAST_DEADLINE.rows(organisation=[organisation.pk], people=people)]


PAST_DEADLINE = PreparedSpans(
    lambda organisation, people: StandingSpan.objects.filter(
        cause__startswith="deadline:", procedure__organisation__in=organisation, person__in=people
    ).values_list("person", "procedure__code", "first", "after", "usable", "cause")
)


def usable_of(
    organisation: Organisation,
    people: Collection[UUID],
    known_by: datetime | None = None,
    codes: Collection[str] | None = None,
) -> list[Held]:
    """Every usable stretch of these people (in these procedures); as known by an instant that of everybody in all."""
    if known_by is not None:
        return [one for one in known_then(organisation, known_by) if one.usable]
    return [stretch(row) for row in USABLE_OF.rows(organisation=[organisation.pk], people=people, codes=codes)]


def stretch(row: tuple[UUID, str, date, date | None]) -> Held:
    """A usable one. Nothing asks what caused it."""
    return Held(*row, True, "")


USABLE_OF = PreparedSpans(
    lambda organisation, people, codes: (
        StandingSpan.objects.usable()
        .filter(procedure__organisation__in=organisation, person__in=people)
        .filter(**gather.narrowed("procedure__code", codes))
        .values_list("person", "procedure__code", "first", "after")
    )
)
USABLE_IN = PreparedSpans(
    lambda organisation, people, codes, first, last: (
        StandingSpan.objects.usable()
        .overlapping(first[0], last[0])
        .filter(procedure__organisation__in=organisation, person__in=people, procedure__code__in=codes)
        .values_list("person", "procedure__code", "first", "after")
    )
)


def known_then(organisation: Organisation, known_by: datetime) -> list[Held]:
    shared = _shared.get()
    key = (organisation.pk, known_by)
    if shared is not None and key in shared:
        return shared[key]
    people = list(Person.objects.filter(organisation=organisation).select_related("organisation"))
    found = [
        Held(UUID(who), code, span.first, span.after, span.state.is_usable, span.cause or "")
        for who, standings in computed(organisation, people, known_by).items()
        for code, standing in standings.items()
        for span in standing.spans
        if span.state is not State.UNTRAINED
    ]
    if shared is not None:
        shared[key] = found
    return found


def usable_people(organisation: Organisation, procedure: str, on: date) -> set[UUID]:
    """Everybody who may do the procedure alone on the day; one indexed query."""
    spans = StandingSpan.objects.on(on).usable().filter(procedure__organisation=organisation, procedure__code=procedure)
    return set(spans.values_list("person", flat=True))


def usable_on_days(
    organisation: Organisation,
    asked: Collection[tuple[str, date]],
    people: Collection[UUID],
    known_by: datetime | None = None,
) -> dict[tuple[str, date], set[UUID]]:
    """Who of these people, for many (procedure code, day); one query, or as known by an instant."""
    codes, days = {code for code, _ in asked}, [day for _, day in asked]
    if known_by is None:
        first, last = [min(days)], [max(days)]
        rows = USABLE_IN.rows(
            organisation=[organisation.pk], people=people, codes=sorted(codes), first=first, last=last
        )
        usable = [stretch(row) for row in rows]
    else:
        usable = known_then(organisation, known_by)
    found: dict[tuple[str, date], set[UUID]] = {each: set() for each in asked}
    in_order: dict[str, list[date]] = defaultdict(list)
    for code, day in sorted(found):
        in_order[code].append(day)
    for one in usable:
        if one.usable and one.code in codes and one.person in people:
            of = in_order[one.code]
            for day in of[bisect_left(of, one.first) : bisect_left(of, one.after) if one.after else None]:
                found[one.code, day].add(one.person)
    return found


def usable_within(
    organisation: Organisation, works: Collection[Work], known_by: datetime | None = None
) -> dict[Work, bool]:
    """For work at a time of a day at which the person may have been usable though they were not at its end, or the other way
    round: whether they were. A fixed number of queries, and few where nothing was decided."""
    days = [work.day for work in works]
    decided = gather.decided_on({work.person for work in works}, days) if works else {}
    if not any((work.person, work.day) in decided for work in works):
        return {}
    programme = gather.programme(organisation)
    rests_on = {code: {*with_prerequisites(programme, code)} for code in programme}
    open_in = {
        work: codes
        for work in works
        if (codes := open_at(work, decided.get((work.person, work.day), ()), rests_on, known_by))
    }
    if not open_in:
        return {}
    workers, codes = {work.person for work in open_in}, set[str]().union(*open_in.values())
    people = gather.facts_of_use(organisation, Person.objects.filter(pk__in=workers), codes, programme, known_by)
    below = set[str]().union(*(rests_on[work.procedure] - mine for work, mine in open_in.items()))
    stored = stored_days(programme, workers, below)
    return {
        work: rules.same_day_allowed(
            {code: programme[code] for code in mine},
            people[str(work.person)],
            work.procedure,
            work.day,
            work.at,
            recorded_at=work.recorded_at,
            known_by=known_by,
            usable={code: stored[work.person][code] for code in rests_on[work.procedure] - mine},
        )
        for work, mine in open_in.items()
    }


def open_at(
    work: Work,
    decided: Collection[tuple[str, Fact]],
    rests_on: Mapping[str, Collection[str]],
    known_by: datetime | None,
) -> set[str]:
    """Of the procedure of the work and what it rests on, those in which the day may end otherwise than it was at that time; of
    all others the stored days say it. As known by an instant nothing is stored, so all of them are where one is."""
    moment, whole = Moment(work.day, work.at, work.recorded_at), rests_on.get(work.procedure, ())
    found = {code for code in whole if decides_later(moment, decided, rests_on[code])} if decided else set()
    return {*whole} if found and known_by is not None else found


Standings = dict[str, rules.Standing | rules.Stored]  # by procedure


def standings_on(
    programme: Mapping[str, ProcedureFacts],
    people: Collection[Person],
    day: date,
    asked: Mapping[UUID, Collection[str]],
    of: Collection[str] = (),
) -> dict[UUID, Standings]:
    """Of these people of one organisation in every procedure, as it is stored. With the evidence of the day what is being
    learnt, what is `asked` of somebody who does not hold it, what was seen on that day (which takes a turn), and these: of
    every day as their facts say where nothing was known again, as why is not stored. A fixed number of queries."""
    stored, near = stored_standings(programme, people), {}
    whole = {(person, code) for person, mine in stored.items() for code in of if is_gapped(mine[code])}
    seen = set(SEEN_ON.rows(people=[*stored], day=[day]))
    for person, standings in stored.items():
        states = {code: each.on(day).state for code, each in standings.items()}
        for code, state in states.items():
            is_open = state is State.LEARNING or (code in asked[person] and not state.is_usable)
            if code in of or is_open or (person, code) in seen:
                near[person, code] = date.min if (person, code) in whole else evidence_from(programme[code], day)
    if not near:
        return {person: {**standings} for person, standings in stored.items()}
    found = from_facts(programme, people, near)
    return {
        person: {
            code: found[person, code] if (person, code) in whole else with_evidence(each, found.get((person, code)))
            for code, each in standings.items()
        }
        for person, standings in stored.items()
    }


def is_gapped(stored: rules.Stored) -> bool:
    return any(span.state is State.UNTRAINED and span.first > date.min for span in stored.spans)


def evidence_from(procedure: ProcedureFacts, day: date) -> date:
    """The first day of which anything may count as evidence on the day."""
    version = known_versions(procedure).in_force_on(day)
    return days_before(day, version.policy.window_days) if version else day


def with_evidence(stored: rules.Stored, standing: rules.Standing | None) -> rules.Standing | rules.Stored:
    return rules.StandingOn(standing.procedure, standing.course, stored.spans) if standing else stored


def from_facts(
    programme: Mapping[str, ProcedureFacts], people: Collection[Person], near: Mapping[tuple[UUID, str], date]
) -> dict[tuple[UUID, str], rules.Standing]:
    codes = {code for _, code in near}
    found = near_facts(next(iter(people)).organisation, people, codes, programme, near)
    part = {code: programme[code] for code in codes}
    told = {
        person: rules.timelines(part, found[str(person)].facts, usable=found[str(person)].usable)
        for person in {person for person, _ in near}
    }
    return {(person, code): told[person][code] for person, code in near}


SPANS = PreparedSpans(
    lambda people: (
        StandingSpan.objects.filter(person__in=people)
        .order_by("first")
        .values_list(
            "person",
            "procedure__code",
            "first",
            "after",
            "state",
            "basis",
            "cause",
            "ends_on",
            "ends_because",
            "ends_by",
        )
    )
)
SEEN_ON = Prepared(
    lambda people, day: (
        Observation.objects.filter(person__in=people, happened_on__in=day)
        .values_list("person", gather.OF_VERSION)
        .distinct()
    )
)


def stored_standings(
    programme: Mapping[str, ProcedureFacts], people: Collection[Person]
) -> dict[UUID, dict[str, rules.Stored]]:
    """One query."""
    spans: dict[tuple[UUID, str], list[rules.StandingSpan]] = defaultdict(list)
    for person, code, *row in SPANS.rows(people=[person.pk for person in people]):
        spans[person, code].append(plain_span(*row))
    return {
        person.pk: {code: rules.Stored(code, rules.without_gaps(spans[person.pk, code])) for code in programme}
        for person in people
    }


def plain(row: StandingSpan) -> rules.StandingSpan:
    """A stored stretch as the rules speak of it."""
    return plain_span(row.first, row.after, row.state, row.basis, row.cause, row.ends_on, row.ends_because, row.ends_by)


OF_SPAN = ("first", "after", "state", "basis", "cause", "ends_on", "ends_because", "ends_by")
"""The columns that `plain_span` takes, for a read of values."""


def plain_span(
    first: date,
    after: date | None,
    state: str,
    basis: str,
    cause: str,
    ends_on: date | None,
    ends_because: str,
    ends_by: str,
) -> rules.StandingSpan:
    return rules.StandingSpan(
        first=first,
        after=after,
        state=State(state),
        basis=Basis(basis) if basis else None,
        cause=cause or None,
        ends_on=ends_on,
        ends_because=Ending(ends_because) if ends_because else None,
        ends_by=ends_by or None,
    )


def span_on(person: Person, procedure: Procedure, day: date) -> rules.StandingSpan:
    """The stored stretch that holds on the day; untrained where none does. One query."""
    row = next(iter(SPAN_ON.rows(person=[person.pk], procedure=[procedure.pk], day=[day])), None)
    return plain_span(*row) if row else UNTRAINED


SPAN_ON = PreparedSpans(
    lambda person, procedure, day: (
        StandingSpan.objects.on(day[0])
        .filter(person__in=person, procedure__in=procedure)
        .order_by("first")
        .values_list(*OF_SPAN)
    )
)


def sentence_on(person: Person, procedure: Procedure, day: date) -> str:
    """Where the person stands in the procedure on the day, in the one sentence. Two queries."""
    titles = Procedure.objects.titles(procedure.organisation)
    return sentence(span_on(person, procedure, day), titles, is_topic=procedure.is_topic)
