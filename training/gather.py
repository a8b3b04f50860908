"""Rows to the plain facts that the rules read. The only place that knows both shapes.

Each question costs a fixed number of queries, whatever the number of people.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any, NamedTuple
from uuid import UUID

from django.db.models import Case, F, JSONField, QuerySet, TextField, Value, When
from django.db.models.functions import Cast

from clinic.models import Organisation, Person, Seal, UpkeepEntry
from clinic.prepared import AmongKeys, Instances, Keys, Prepared, in_json
from clinic.rules.roles import ProcedureRole
from training.doing import COUNTS_AS, KINDS
from training.models import (
    Attendance,
    Authority,
    CarriedOver,
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
from training.rules import facts
from training.rules.texts import policy_from_text
from training.rules.watchers import WatchedBy, Watchers, with_watchers
from training.waiting import PreparedSpans

Key = tuple[str, str]  # person id, procedure code
COMMON = ("id", "happened_on", "happened_at", "recorded_at", "corrects")
OF_VERSION = "version__procedure__code"

ORGANISATIONS = Instances(Organisation, lambda keys: Organisation.objects.filter(pk__in=keys))
PROCEDURES = Prepared(
    lambda organisation: (
        Procedure.objects.filter(organisation__in=organisation)
        .order_by("code")
        .values_list("pk", "code", "kind", "area", "stands_for")
    )
)
RETIRED = Prepared(
    lambda organisation: (
        Retirement.objects.live()
        .filter(procedure__organisation__in=organisation)
        .values_list("procedure_id", "happened_on", "recorded_at")
    )
)
VERSIONS = Prepared(
    lambda organisation: (
        Version.objects.live()
        .filter(procedure__organisation__in=organisation)
        .order_by("number")
        .values_list(
            "procedure_id", "number", "in_force_from", "recorded_at", Cast("policy", TextField()), "critical_when"
        )
    )
)


def programme(organisation: Organisation) -> dict[str, facts.ProcedureFacts]:
    """Every procedure with every version ever approved; three queries."""
    here = [organisation.pk]
    retired = {pk: (day, at) for pk, day, at in RETIRED.rows(organisation=here)}
    versions: dict[int, list[tuple[Any, ...]]] = defaultdict(list)
    for pk, *row in VERSIONS.rows(organisation=here):
        versions[pk].append(tuple(row))
    return {
        code: procedure_facts(code, kind, versions[pk], retired.get(pk))
        for pk, code, kind, *_ in PROCEDURES.rows(organisation=here)
    }


def procedure_facts(
    code: str, kind: str, versions: Iterable[tuple[Any, ...]], retired: tuple[date, datetime] | None
) -> facts.ProcedureFacts:
    day, at = retired or (None, None)
    return facts.ProcedureFacts(
        code=code,
        versions=tuple(
            facts.VersionFact(code, number, from_day, approved_at, policy_from_text(policy), frozenset(keys))
            for number, from_day, approved_at, policy, keys in versions
        ),
        is_topic=kind == Procedure.Kind.TOPIC,
        retired_on=day,
        retired_recorded_at=at,
    )


@dataclass(frozen=True, slots=True)
class GrantFact:
    """An authority or founding grant as plain data."""

    id: str
    person: str
    site: int
    first: date
    last: date | None
    procedures: frozenset[str]
    areas: frozenset[str]
    recorded_at: datetime
    founding: bool = False
    counts_because: str = ""  # why what they watch counts although they may not work alone in it

    def covers(self, code: str, area: str) -> bool:
        return code in self.procedures or area in self.areas

    def holds_on(self, day: date) -> bool:
        return self.first <= day and (self.last is None or day <= self.last)


OF_GRANT = ("id", "person_id", "site_id", "happened_on", "to_day", "procedures", "areas", "recorded_at")


def granted(model: Any, *more: str) -> Prepared:
    return Prepared(
        lambda organisation, known_by=None: (
            model.objects.live(known_by).filter(site__organisation__in=organisation).values_list(*OF_GRANT, *more)
        )
    )


AUTHORITIES, FOUNDING = granted(Authority, "counts_because"), granted(FoundingGrant)


def grant_facts(organisation: Organisation, known_by: datetime | None = None) -> list[GrantFact]:
    """Every grant of the organisation that stands; two queries."""
    here = [organisation.pk]
    return [
        *(grant_fact(row[:8], counts_because=row[8]) for row in AUTHORITIES.rows(known_by, organisation=here)),
        *(grant_fact(row, founding=True) for row in FOUNDING.rows(known_by, organisation=here)),
    ]


def grant_fact(row: tuple[Any, ...], **more: Any) -> GrantFact:
    pk, person, site, first, last, codes, areas, at = row
    return GrantFact(str(pk), str(person), site, first, last, frozenset(codes), frozenset(areas), at, **more)


def people_facts(
    organisation: Organisation,
    people: Collection[Person],
    known_by: datetime | None = None,
    codes: Collection[str] | None = None,
    evidence_of: Collection[Person] | None = None,
    evidence_in: Collection[str] | None = None,
    whole: Mapping[str, facts.ProcedureFacts] | None = None,
) -> dict[str, facts.PersonFacts]:
    """Everything the standing of these people rests on, by person id; about fifteen queries for any number of people and of
    those who watched them.

    `codes`: only what bears on these procedures, for a question about one of them and what it rests on. `evidence_of` and
    `evidence_in`: of whom and in which procedures evidence is asked too (None: all). Elsewhere it is asked only whether they
    were usable, which never depends on who watched. `whole`: the programme, where it is read already.
    """
    whole = programme(organisation) if whole is None else whole
    book = Rulebook.of(organisation, whole, known_by)
    judged = [person.pk for person in (people if evidence_of is None else evidence_of)]
    rows = watched_assessments(FactsWanted(judged, codes if evidence_in is None else evidence_in)) if judged else []
    others = {row.observer for row in rows} - {person.pk for person in people}
    watching = Person.objects.filter(pk__in=others) if others else ()
    found = own_facts([*people, *watching], codes, book)
    mine = {str(person.pk): found[str(person.pk)] for person in people}
    if not rows:
        return mine
    watchers = Watchers(whole, found, known_by)
    seen = {str(row.id): seen_by(row, book) for row in rows}
    return mine | {str(pk): with_watchers(mine[str(pk)], seen, watchers) for pk in judged}


@dataclass(frozen=True, slots=True)
class Rulebook:
    """What facts of people are read against: the procedures by code, and every grant that stands."""

    whole: Mapping[str, facts.ProcedureFacts]
    areas: dict[str, str]
    doings: tuple[tuple[Any, str], ...]  # a kind of fact, and a procedure that each of its rows is the doing of
    granted: list[GrantFact]

    @classmethod
    def of(
        cls, organisation: Organisation, whole: Mapping[str, facts.ProcedureFacts], known_by: datetime | None
    ) -> "Rulebook":
        rows = list(PROCEDURES.rows(organisation=[organisation.pk]))
        return cls(
            whole=whole,
            areas={code: area for _, code, _, area, _ in rows},
            doings=tuple((COUNTS_AS[ProcedureRole(role)], code) for _, code, _, _, role in rows if role in COUNTS_AS),
            granted=grant_facts(organisation, known_by),
        )


class Assessed(NamedTuple):
    """An assessment that somebody of the practice watched: what is asked of whoever watched it, and its place in the day."""

    id: UUID
    observer: UUID
    code: str
    site: int
    day: date
    person: UUID
    at: time | None
    recorded_at: datetime
    corrects: UUID | None

    @property
    def as_fact(self) -> facts.Fact:
        return facts.Fact(**common((self.id, self.day, self.at, self.recorded_at, self.corrects)))


ASSESSMENTS = Prepared(
    lambda people, codes: Observation.objects.filter(
        person__in=people, purpose=Observation.Purpose.ASSESSMENT, observer__isnull=False, **narrowed(OF_VERSION, codes)
    ).values_list(
        "pk", "observer_id", OF_VERSION, "site_id", "happened_on", "person_id", "happened_at", "recorded_at", "corrects"
    )
)


def watched_assessments(asked: "FactsWanted") -> list[Assessed]:
    return [Assessed(*row) for row in ASSESSMENTS.rows(people=asked.people, codes=asked.codes)]


def narrowed(column: str, keys: Keys) -> dict[str, Any]:
    """The filter on the column, where it is narrowed at all."""
    return {} if keys is None else {f"{column}__in": keys}


def decided_on(
    people: Collection[UUID], first: date, last: date
) -> dict[tuple[UUID, date], list[tuple[str, facts.Fact]]]:
    """By person and day, from the first day through the last: what was signed, withdrawn, carried over, given by a founding
    grant, or taught, each with its procedure ("" where it stands for several), corrected since or not. One query."""
    found: dict[tuple[UUID, date], list[tuple[str, facts.Fact]]] = defaultdict(list)
    for row in DECIDED.rows(people=people, first=[first], last=[last]):
        found[row[5], row[1]].append((row[6], facts.Fact(**common(row))))
    return found


def decisions_about(people: Any, first: Any, last: Any) -> QuerySet[Any, Any]:
    days = (first[0], last[0])

    def of(model: Any, code: Any, columns: Sequence[str] = COMMON) -> QuerySet[Any, Any]:
        rows = model._default_manager.filter(person__in=people, **{f"{columns[1]}__range": days}).order_by()
        return rows.values_list(*columns, "person_id", code)  # type: ignore[no-any-return]

    return of(SignOff, OF_VERSION).union(
        of(Withdrawal, "procedure__code"),
        of(CarriedOver, "procedure__code"),
        of(FoundingGrant, Value("")),
        of(Attendance, f"session__topics__{OF_VERSION}", [f"session__{name}" for name in COMMON]),
    )


DECIDED = Prepared(decisions_about)
USABLE = PreparedSpans(
    lambda people, codes: (
        StandingSpan.objects.usable()
        .filter(person__in=people, procedure__code__in=codes)
        .order_by("first")
        .values_list("person_id", "procedure__code", "first", "after")
    )
)


def seen_by(row: Assessed, book: Rulebook) -> WatchedBy:
    """Who watched it, and whether a founding grant or a reason given with their authority covers it there and then."""
    watcher, area = str(row.observer), book.areas[row.code]
    alive = [
        grant
        for grant in book.granted
        if grant.person == watcher
        and grant.site == row.site
        and grant.covers(row.code, area)
        and grant.holds_on(row.day)
    ]
    return WatchedBy(
        watcher,
        founder=any(grant.founding for grant in alive),
        lowered=any(grant.counts_because for grant in alive),
    )


def own_facts(
    people: Collection[Person], codes: Collection[str] | None, book: Rulebook
) -> dict[str, facts.PersonFacts]:
    """The facts of these people, before it is asked who watched them."""
    found = collect(FactsWanted([person.pk for person in people], codes), book)
    add_voids(found)
    by_person: dict[str, dict[str, tuple[facts.Fact, ...]]] = defaultdict(dict)
    for (who, code), rows in found.items():
        by_person[who][code] = tuple(rows)
    return {str(person.pk): one_person(person, by_person[str(person.pk)], book) for person in people}


def one_person(person: Person, mine: dict[str, tuple[facts.Fact, ...]], book: Rulebook) -> facts.PersonFacts:
    key = str(person.pk)
    here = [grant for grant in book.granted if grant.site == person.home_site_id and grant.person != key]
    offered = {code: steps(grant for grant in here if grant.covers(code, area)) for code, area in book.areas.items()}
    return facts.PersonFacts(person=key, by_procedure=mine, offered=offered)


def steps(granted: Iterable[GrantFact]) -> tuple[tuple[date, int], ...]:
    """How many distinct people hold a grant, from each day on which that number may change. Starts with nobody."""
    rows = list(granted)
    edges = {row.first for row in rows} | {row.last + timedelta(days=1) for row in rows if row.last}
    counts = [(day, len({row.person for row in rows if row.holds_on(day)})) for day in sorted(edges)]
    return ((date.min, 0), *counts)


@dataclass(frozen=True, slots=True)
class FactsWanted:
    """Whose facts are read, and about which procedures (None: all)."""

    people: list[UUID]
    codes: Collection[str] | None = None

    def includes(self, code: str) -> bool:
        return self.codes is None or code in self.codes


def collect(asked: FactsWanted, book: Rulebook) -> dict[Key, list[facts.Fact]]:
    found: dict[Key, list[facts.Fact]] = defaultdict(list)
    for collector in (observed, results, signed, withdrawn, carried, founded, taught):
        for key, fact in collector(asked):
            found[key].append(fact)
    for collector_on in (watched, upkeep_done, done_by_fact):
        for key, fact in collector_on(asked, book):
            found[key].append(fact)
    return found


def common(row: tuple[Any, ...]) -> dict[str, Any]:
    """The columns that every fact has, in the order of COMMON."""
    pk, day, at, recorded_at, corrects = row[:5]
    return {
        "id": str(pk),
        "day": day,
        "at": at,
        "recorded_at": recorded_at,
        "corrects": str(corrects) if corrects else None,
    }


Found = Iterable[tuple[Key, facts.Fact]]


# To read the marks of every step costs more than all else of an observation, and most versions ask after none.
MARKS_ASKED = Case(When(version__critical_when=[], then=Value(None)), default=F("marks"), output_field=JSONField())


def of_people(model: Any, code: str, *columns: Any) -> Prepared:
    """Rows of a kind of fact by person and procedure: COMMON, person, code, then these columns."""
    return Prepared(
        lambda people, codes: model.objects.filter(person__in=people, **narrowed(code, codes)).values_list(
            *COMMON, "person_id", code, *columns
        )
    )


OBSERVED = of_people(
    Observation, OF_VERSION, "version__number", "purpose", "method", "outcome", "critical_miss", "observer_id", "witness_id",
    MARKS_ASKED, "version__critical_when", "sheet_id",
)  # fmt: skip
RESULTS = of_people(KnowledgeResult, OF_VERSION, "version__number", "passed")
SIGNED = of_people(SignOff, OF_VERSION, "version__number")
WITHDRAWN = of_people(Withdrawal, "procedure__code")
CARRIED = of_people(CarriedOver, "procedure__code", "original_day", "valid_until")
FOUNDED = Prepared(
    lambda people: FoundingGrant.objects.filter(person__in=people).values_list(
        *COMMON, "person_id", "procedures", "to_day"
    )
)


def observed(asked: FactsWanted) -> Found:
    for row in OBSERVED.rows(people=asked.people, codes=asked.codes):
        person, code, number, purpose, method, outcome, miss, observer, witness, marks, keys, sheet = row[5:]
        yield (
            (str(person), code),
            facts.Observed(
                **common(row),
                version=number,
                assessment=purpose == Observation.Purpose.ASSESSMENT,
                method=facts.Method(method),
                outcome=facts.Outcome(outcome),
                critical_miss=miss,
                observer=str(observer or witness),
                shown=shown(marks or [], keys),
                from_paper=sheet is not None,
            ),
        )


def shown(marks: list[dict[str, str]], keys: list[str]) -> frozenset[str]:
    """Which of the critical conditional steps were marked alone or asked."""
    good = {facts.Mark.ALONE, facts.Mark.ASKED}
    return frozenset(mark["step"] for mark in marks if mark["step"] in keys and mark["mark"] in good)


def results(asked: FactsWanted) -> Found:
    for row in RESULTS.rows(people=asked.people, codes=asked.codes):
        person, code, number, passed = row[5:]
        yield (str(person), code), facts.CheckTaken(**common(row), version=number, passed=passed)


def signed(asked: FactsWanted) -> Found:
    for row in SIGNED.rows(people=asked.people, codes=asked.codes):
        person, code, number = row[5:]
        yield (str(person), code), facts.Signed(**common(row), version=number)


def withdrawn(asked: FactsWanted) -> Found:
    for row in WITHDRAWN.rows(people=asked.people, codes=asked.codes):
        yield (str(row[5]), row[6]), facts.Withdrawn(**common(row))


def carried(asked: FactsWanted) -> Found:
    for row in CARRIED.rows(people=asked.people, codes=asked.codes):
        person, code, original, until = row[5:]
        yield (str(person), code), facts.CarriedOver(**common(row), original_day=original, valid_until=until)


def founded(asked: FactsWanted) -> Found:
    for row in FOUNDED.rows(people=asked.people):
        person, codes, until = row[5:]
        for code in filter(asked.includes, codes):
            yield (str(person), code), facts.Founded(**common(row), valid_until=until)


ATTENDED = Prepared(
    lambda people, codes: (
        Attendance.objects.filter(
            person__in=people, session__extra=False, **narrowed("session__topics__version__procedure__code", codes)
        )
        .exclude(job_title="")
        .values_list("pk")
        .distinct()
    )
)


def taught(asked: FactsWanted) -> Found:
    """Countable sessions only: a missing field keeps a session out (O-04, O-05), and what is extra moves no yearly day."""
    keys = [pk for (pk,) in ATTENDED.rows(people=asked.people, codes=asked.codes)]
    if not keys:
        return
    for row in (
        Attendance.objects.filter(pk__in=keys)
        .select_related("session")
        .prefetch_related("session__topics__version__procedure", "session__attendances__person")
    ):
        session: TaughtSession = row.session
        if session.missing_fields:
            continue
        columns = tuple(getattr(session, name) for name in COMMON)
        for topic in session.topics.all():
            version = topic.version
            if not asked.includes(version.procedure.code):
                continue
            yield (
                (str(row.person_id), version.procedure.code),
                facts.TaughtCountable(**common(columns), version=version.number),
            )


WATCHED = Prepared(
    lambda people, codes: Observation.objects.filter(observer__in=people, **narrowed(OF_VERSION, codes)).values_list(
        *COMMON, "observer_id", OF_VERSION, "site_id"
    )
)


def watched(asked: FactsWanted, book: Rulebook) -> Found:
    """Days on which these people observed somebody else with authority for it."""
    mine: dict[str, list[GrantFact]] = defaultdict(list)
    for grant in book.granted:
        mine[grant.person].append(grant)
    authorised = [pk for pk in asked.people if str(pk) in mine]
    covering: dict[tuple[str, str, int], list[GrantFact]] = {}
    for row in WATCHED.rows(people=authorised, codes=asked.codes):
        key = observer, code, site = str(row[5]), row[6], row[7]
        if key not in covering:
            covering[key] = [g for g in mine[observer] if g.site == site and g.covers(code, book.areas[code])]
        if any(grant.holds_on(row[1]) for grant in covering[key]):
            yield (observer, code), facts.WatchedOthers(**common(row))


UPKEEP = Prepared(
    lambda people, tasks: UpkeepEntry.objects.filter(done_by__in=people, task__code__in=tasks).values_list(
        *COMMON, "done_by_id", "task__code"
    )
)


def upkeep_done(asked: FactsWanted, book: Rulebook) -> Found:
    """Upkeep that these people did, for each procedure of which a version covers the task."""
    covered: dict[str, set[str]] = defaultdict(set)
    for code in filter(asked.includes, book.whole):
        for version in book.whole[code].versions:
            for task in version.policy.upkeep_covered:
                covered[task].add(code)
    for row in UPKEEP.rows(people=asked.people, tasks=sorted(covered)):
        for code in covered[row[6]]:
            yield (str(row[5]), code), facts.DidUpkeep(**common(row))


def done_by(model: Any) -> Callable[..., QuerySet[Any, Any]]:
    return lambda people: model.objects.filter(done_by__in=people).values_list(*COMMON, "done_by_id")


DONE = {model: Prepared(done_by(model)) for model in KINDS}


def done_by_fact(asked: FactsWanted, book: Rulebook) -> Found:
    """Tools that these people set in and jobs that they started: each is the work done, for the procedures that stand for
    it. A query for each kind."""
    by_model: dict[Any, list[str]] = defaultdict(list)
    for model, code in book.doings:
        if asked.includes(code):
            by_model[model].append(code)
    for model, codes in by_model.items():
        for row in DONE[model].rows(people=asked.people):
            for code in codes:
                yield (str(row[5]), code), facts.DidUpkeep(**common(row))


CORRECTIONS = Prepared(
    lambda facts: Seal.objects.filter(AmongKeys("corrects", facts[0])).values_list("fact", "corrects", "recorded_at")
)


def add_voids(found: dict[Key, list[facts.Fact]]) -> None:
    """Where a fact is corrected by one that is not of the same person and procedure (a plain voiding, or the wrong person
    put right), a Void takes its place in this list. Corrections of corrections follow, level by level."""
    owners: dict[str, set[Key]] = defaultdict(set)
    for key, rows in found.items():
        for fact in rows:
            owners[fact.id].add(key)
    level = set(owners)
    while level:
        seals = list(CORRECTIONS.rows(facts=[in_json(level)]))
        level = set()
        for fact_id, corrects, recorded_at in seals:
            for key in owners[str(corrects)] - owners[str(fact_id)]:
                found[key].append(void_of(str(fact_id), str(corrects), recorded_at))
                owners[str(fact_id)].add(key)
                level.add(str(fact_id))


def void_of(fact_id: str, corrects: str, recorded_at: datetime) -> facts.Void:
    return facts.Void(id=fact_id, day=recorded_at.date(), recorded_at=recorded_at, corrects=corrects)
