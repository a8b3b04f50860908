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
from clinic.models.records import Stands
from clinic.prepared import AmongKeys, Instances, Keys, Prepared, Still, in_json, made_of
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
PROCEDURES = Still(
    lambda organisation: (
        Procedure.objects.filter(organisation__in=organisation)
        .order_by("code")
        .values_list("pk", "code", "kind", "area", "stands_for", "returns")
    )
)
RETIRED = Still(
    lambda organisation: (
        Retirement.objects.live()
        .filter(procedure__organisation__in=organisation)
        .values_list("procedure_id", "happened_on", "recorded_at")
    )
)
VERSIONS = Still(
    lambda organisation: (
        Version.objects.filter(procedure__organisation__in=organisation)
        .order_by("number")
        .values_list(
            "procedure_id", "number", "in_force_from", "recorded_at", Cast("policy", TextField()), "critical_when", "pk",
            "procedure__code", Stands(),
        )
    )
)  # fmt: skip
"""Each that was ever approved, and last whether it stands: what was seen by one that was taken back is told by it all the same."""


def programme(organisation: Organisation) -> dict[str, facts.ProcedureFacts]:
    """Every procedure with every version ever approved; three queries."""
    here = [organisation.pk]
    parts = [question.listed(organisation=here) for question in (PROCEDURES, VERSIONS, RETIRED)]
    return made_of(tuple(parts), programme_of)


Rows = Iterable[tuple[Any, ...]]


def programme_of(procedures: Rows, versions: Rows, retired: Rows) -> dict[str, facts.ProcedureFacts]:
    ended = {pk: (day, at) for pk, day, at in retired}
    standing: dict[int, list[tuple[Any, ...]]] = defaultdict(list)
    for pk, *row, _, _, stands in versions:
        if stands:
            standing[pk].append(tuple(row))
    return {code: procedure_facts(code, kind, standing[pk], ended.get(pk)) for pk, code, kind, *_ in procedures}


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
    return Still(
        lambda organisation, known_by=None: (
            model.objects.live(known_by).filter(site__organisation__in=organisation).values_list(*OF_GRANT, *more)
        )
    )


AUTHORITIES, FOUNDING = granted(Authority, "counts_because"), granted(FoundingGrant)


def grant_facts(organisation: Organisation, known_by: datetime | None = None) -> list[GrantFact]:
    """Every grant of the organisation that stands; two queries."""
    here = [organisation.pk]
    if known_by is not None:
        return granted_by(*(question.rows(known_by, organisation=here) for question in (AUTHORITIES, FOUNDING)))
    return made_of(tuple(question.listed(organisation=here) for question in (AUTHORITIES, FOUNDING)), granted_by)


def granted_by(authorities: Rows, founding: Rows) -> list[GrantFact]:
    return [
        *(grant_fact(row[:8], counts_because=row[8]) for row in authorities),
        *(grant_fact(row, founding=True) for row in founding),
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
    asked = FactsWanted(judged, codes if evidence_in is None else evidence_in)
    rows = watched_assessments(asked, book) if judged else []
    others = {row.observer for row in rows} - {person.pk for person in people}
    watching = Person.objects.filter(pk__in=others) if others else ()
    found = own_facts([*people, *watching], codes, book)
    mine = {str(person.pk): found[str(person.pk)] for person in people}
    if not rows:
        return mine
    watchers = Watchers(whole, found, known_by)
    seen = {str(row.id): seen_by(row, book) for row in rows}
    return mine | {str(pk): with_watchers(mine[str(pk)], seen, watchers) for pk in judged}


class ToldBy(NamedTuple):
    """What a fact says that names the version. To join it to each row costs more than all else that is asked of the row."""

    code: str
    number: int
    critical_when: list[str]


def versions_told(organisation: int) -> dict[UUID, ToldBy]:
    """By the key of each version that was ever approved."""
    return made_of((VERSIONS.listed(organisation=[organisation]),), told_by_versions)


def told_by_versions(rows: Rows) -> dict[UUID, ToldBy]:
    return {pk: ToldBy(code, number, keys) for _, number, _, _, _, keys, pk, code, _ in rows}


@dataclass(frozen=True, slots=True)
class Rulebook:
    """What facts of people are read against: the procedures by code, and every grant that stands."""

    whole: Mapping[str, facts.ProcedureFacts]
    areas: dict[str, str]
    doings: tuple[tuple[Any, str], ...]  # a kind of fact, and a procedure that each of its rows is the doing of
    granted: list[GrantFact]
    versions: Mapping[UUID, ToldBy]

    @classmethod
    def of(
        cls, organisation: Organisation, whole: Mapping[str, facts.ProcedureFacts], known_by: datetime | None
    ) -> "Rulebook":
        rows = list(PROCEDURES.rows(organisation=[organisation.pk]))
        return cls(
            whole=whole,
            areas={code: area for _, code, _, area, *_ in rows},
            doings=tuple(
                (COUNTS_AS[ProcedureRole(role)], code) for _, code, _, _, role, _ in rows if role in COUNTS_AS
            ),
            granted=grant_facts(organisation, known_by),
            versions=versions_told(organisation.pk),
        )

    def versions_of(self, codes: Collection[str] | None) -> list[UUID] | None:
        """The keys of every version of these procedures; None for all."""
        return None if codes is None else [pk for pk, told in self.versions.items() if told.code in codes]


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
    lambda people, versions: Observation.objects.filter(
        person__in=people,
        purpose=Observation.Purpose.ASSESSMENT,
        observer__isnull=False,
        **narrowed("version", versions),
    ).values_list(
        "pk",
        "observer_id",
        "version_id",
        "site_id",
        "happened_on",
        "person_id",
        "happened_at",
        "recorded_at",
        "corrects",
    ),
    people=5,
    versions=2,
)


def watched_assessments(asked: "FactsWanted", book: Rulebook) -> list[Assessed]:
    rows = ASSESSMENTS.rows(people=asked.people, versions=book.versions_of(asked.codes))
    return [Assessed(pk, observer, book.versions[version].code, *more) for pk, observer, version, *more in rows]


def narrowed(column: str, keys: Keys) -> dict[str, Any]:
    """The filter on the column, where it is narrowed at all."""
    return {} if keys is None else {f"{column}__in": keys}


FEW_DAYS = 64  # of more it is quicker to read what lies between them, too


def decided_on(
    people: Collection[UUID], days: Collection[date]
) -> dict[tuple[UUID, date], list[tuple[str, facts.Fact]]]:
    """By person and day, on these days at least: what was signed, withdrawn, carried over, given by a founding grant, or taught,
    each with its procedure ("" where it stands for several), corrected since or not. One query."""
    found: dict[tuple[UUID, date], list[tuple[str, facts.Fact]]] = defaultdict(list)
    asked = sorted({*days})
    few = len(asked) <= FEW_DAYS
    span = {"first": None, "last": None} if few else {"first": asked[:1], "last": asked[-1:]}
    for row in DECIDED.rows(people=people, days=asked if few else None, **span):
        found[row[5], row[1]].append((row[6], facts.Fact(**common(row))))
    return found


def decisions_about(people: Any, days: Any, first: Any, last: Any) -> QuerySet[Any, Any]:
    def of(model: Any, code: Any, columns: Sequence[str] = COMMON) -> QuerySet[Any, Any]:
        where = {f"{columns[1]}__range": (first[0], last[0])} if days is None else {f"{columns[1]}__in": days}
        rows = model._default_manager.filter(person__in=people, **where).order_by()
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
    ),
    people=0,
    codes=1,
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


def facts_of_use(
    organisation: Organisation,
    people: Collection[Person],
    codes: Collection[str],
    whole: Mapping[str, facts.ProcedureFacts],
    known_by: datetime | None = None,
) -> dict[str, facts.PersonFacts]:
    """Of these people all that decides when they may work alone in these procedures. What somebody did, saw or was asked bears
    on it only where it keeps a sign-off from running idle, and is not read of other procedures."""
    idle = {code for code in codes if any(version.policy.idle_days is not None for version in whole[code].versions)}
    return own_facts(people, codes, Rulebook.of(organisation, whole, known_by), performed=idle)


def own_facts(
    people: Collection[Person],
    codes: Collection[str] | None,
    book: Rulebook,
    performed: Collection[str] | None = None,
) -> dict[str, facts.PersonFacts]:
    """The facts of these people, before it is asked who watched them. `performed`: the procedures of which it is read too what
    was done (None: all of these)."""
    keys = [person.pk for person in people]
    found = collect(FactsWanted(keys, codes), FactsWanted(keys, codes if performed is None else performed), book)
    add_voids(found)
    by_person: dict[str, dict[str, tuple[facts.Fact, ...]]] = defaultdict(dict)
    for (who, code), rows in found.items():
        by_person[who][code] = tuple(rows)
    areas = {code: area for code, area in book.areas.items() if codes is None or code in codes}
    return {str(person.pk): one_person(person, by_person[str(person.pk)], book, areas) for person in people}


def one_person(
    person: Person, mine: dict[str, tuple[facts.Fact, ...]], book: Rulebook, areas: Mapping[str, str]
) -> facts.PersonFacts:
    key = str(person.pk)
    here = [grant for grant in book.granted if grant.site == person.home_site_id and grant.person != key]
    offered = {code: steps(grant for grant in here if grant.covers(code, area)) for code, area in areas.items()}
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


def collect(decided: FactsWanted, done: FactsWanted, book: Rulebook) -> dict[Key, list[facts.Fact]]:
    found: dict[Key, list[facts.Fact]] = defaultdict(list)
    for collector in (withdrawn, carried, founded, taught):
        for key, fact in collector(decided):
            found[key].append(fact)
    for collector_on in (observed, results, watched, upkeep_done, done_by_fact):
        for key, fact in collector_on(done, book):
            found[key].append(fact)
    for key, fact in signed(decided, book):
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


def of_people(model: Any, code: str, *columns: Any) -> Prepared:
    """Rows of a kind of fact by person and procedure: COMMON, person, code, then these columns."""
    return Prepared(
        lambda people, codes: model.objects.filter(person__in=people, **narrowed(code, codes)).values_list(
            *COMMON, "person_id", code, *columns
        ),
        people=5,
        codes=6,
    )


def by_version(model: Any, *columns: Any) -> Prepared:
    """Rows of a kind of fact by person and version: COMMON, person, version, then these columns."""
    return Prepared(
        lambda people, versions: model.objects.filter(person__in=people, **narrowed("version", versions)).values_list(
            *COMMON, "person_id", "version_id", *columns
        ),
        people=5,
        versions=6,
    )


def observations_of(people: Any, versions: Any, asking: Any) -> QuerySet[Any, Any]:
    """The marks of those of the versions `asking` only: to read those of every step costs more than all else of an observation,
    and most versions ask after none."""
    none = Value(None, output_field=JSONField())
    marks = none if asking is None else Case(When(version__in=asking, then=F("marks")), default=none)
    rows = Observation.objects.filter(person__in=people, **narrowed("version", versions))
    return rows.values_list(
        *COMMON, "person_id", "version_id", "purpose", "method", "outcome", "critical_miss", "observer_id", "witness_id", marks,
        "sheet_id",
    )  # fmt: skip


OBSERVED = Prepared(observations_of, people=5, versions=6)
RESULTS = by_version(KnowledgeResult, "passed")
SIGNED = by_version(SignOff)
WITHDRAWN = of_people(Withdrawal, "procedure__code")
CARRIED = of_people(CarriedOver, "procedure__code", "original_day", "valid_until")
FOUNDED = Prepared(
    lambda people: FoundingGrant.objects.filter(person__in=people).values_list(
        *COMMON, "person_id", "procedures", "to_day"
    ),
    people=5,
)


def observed(asked: FactsWanted, book: Rulebook) -> Found:
    versions = book.versions_of(asked.codes)
    asking = [pk for pk in (book.versions if versions is None else versions) if book.versions[pk].critical_when]
    for row in OBSERVED.rows(people=asked.people, versions=versions, asking=asking or None):
        person, version, purpose, method, outcome, miss, observer, witness, marks, sheet = row[5:]
        code, number, keys = book.versions[version]
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


def results(asked: FactsWanted, book: Rulebook) -> Found:
    for row in RESULTS.rows(people=asked.people, versions=book.versions_of(asked.codes)):
        person, version, passed = row[5:]
        code, number, _ = book.versions[version]
        yield (str(person), code), facts.CheckTaken(**common(row), version=number, passed=passed)


def signed(asked: FactsWanted, book: Rulebook) -> Found:
    for row in SIGNED.rows(people=asked.people, versions=book.versions_of(asked.codes)):
        person, version = row[5:]
        code, number, _ = book.versions[version]
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
        .values_list("pk", "person_id")
        .distinct()
    ),
    people=1,
)


def taught(asked: FactsWanted) -> Found:
    """Countable sessions only: a missing field keeps a session out (O-04, O-05), and what is extra moves no yearly day."""
    keys = [pk for pk, _ in ATTENDED.rows(people=asked.people, codes=asked.codes)]
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
    lambda people, versions: Observation.objects.filter(
        observer__in=people, **narrowed("version", versions)
    ).values_list(*COMMON, "observer_id", "version_id", "site_id"),
    people=5,
    versions=6,
)


def watched(asked: FactsWanted, book: Rulebook) -> Found:
    """Days on which these people observed somebody else with authority for it."""
    mine: dict[str, list[GrantFact]] = defaultdict(list)
    for grant in book.granted:
        mine[grant.person].append(grant)
    authorised = [pk for pk in asked.people if str(pk) in mine]
    covering: dict[tuple[str, str, int], list[GrantFact]] = {}
    for row in WATCHED.rows(people=authorised, versions=book.versions_of(asked.codes)):
        key = observer, code, site = str(row[5]), book.versions[row[6]].code, row[7]
        if key not in covering:
            covering[key] = [g for g in mine[observer] if g.site == site and g.covers(code, book.areas[code])]
        if any(grant.holds_on(row[1]) for grant in covering[key]):
            yield (observer, code), facts.WatchedOthers(**common(row))


UPKEEP = Prepared(
    lambda people, tasks: UpkeepEntry.objects.filter(done_by__in=people, task__code__in=tasks).values_list(
        *COMMON, "done_by_id", "task__code"
    ),
    people=5,
    tasks=6,
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


DONE = {model: Prepared(done_by(model), people=5) for model in KINDS}


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
