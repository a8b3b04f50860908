"""Rows to the plain facts that the rules read. The only place that knows both shapes.

Each question costs a fixed number of queries, whatever the number of people.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Case, F, JSONField, Value, When

from clinic.models import Organisation, Person, Seal, UpkeepEntry
from clinic.rules.roles import ProcedureRole
from training.doing import COUNTS_AS
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
from training.rules.texts import policy_from_json
from training.rules.watchers import WatchedBy, Watchers, with_watchers

Key = tuple[str, str]  # person id, procedure code
COMMON = ("id", "happened_on", "happened_at", "recorded_at", "corrects")


def programme(
    organisation: Organisation, procedures: Iterable[Procedure] | None = None
) -> dict[str, facts.ProcedureFacts]:
    """Every procedure with every version ever approved; three queries, or two where the procedures are read already."""
    retired = {row.procedure_id: row for row in Retirement.objects.live().filter(procedure__organisation=organisation)}
    versions: dict[int, list[facts.VersionFact]] = defaultdict(list)
    rows = Version.objects.live().filter(procedure__organisation=organisation).order_by("number")
    columns = ("procedure_id", "procedure__code", "number", "in_force_from", "recorded_at", "policy", "critical_when")
    for pk, code, number, from_day, approved_at, policy, keys in rows.values_list(*columns):
        asks = policy_from_json(policy)
        versions[pk].append(facts.VersionFact(code, number, from_day, approved_at, asks, frozenset(keys)))
    every = Procedure.objects.of(organisation) if procedures is None else procedures
    return {p.code: procedure_facts(p, versions[p.pk], retired.get(p.pk)) for p in every}


def procedure_facts(
    row: Procedure, versions: list[facts.VersionFact], retired: Retirement | None
) -> facts.ProcedureFacts:
    return facts.ProcedureFacts(
        code=row.code,
        versions=tuple(versions),
        is_topic=row.is_topic,
        retired_on=retired.happened_on if retired else None,
        retired_recorded_at=retired.recorded_at if retired else None,
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


def grant_facts(organisation: Organisation, known_by: datetime | None = None) -> list[GrantFact]:
    """Every grant of the organisation that stands; two queries."""
    columns = ("id", "person_id", "site_id", "happened_on", "to_day", "procedures", "areas", "recorded_at")
    authority = Authority.objects.live(known_by).filter(site__organisation=organisation)
    founding = FoundingGrant.objects.live(known_by).filter(site__organisation=organisation)
    return [
        *(grant_fact(row[:8], counts_because=row[8]) for row in authority.values_list(*columns, "counts_because")),
        *(grant_fact(row, founding=True) for row in founding.values_list(*columns)),
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
    stored: bool = False,
) -> dict[str, facts.PersonFacts]:
    """Everything the standing of these people rests on, by person id; about fifteen queries for any number of people and of
    those who watched them.

    `codes`: only what bears on these procedures, for a question about one of them and what it rests on. `evidence_of` and
    `evidence_in`: of whom and in which procedures evidence is asked too (None: all). Elsewhere it is asked only whether they
    were usable, which never depends on who watched. `whole`: the programme, where it is read already. `stored`: of whoever
    watched the stored spans are asked first, which say what their facts say: for a page, at which no span waits to be written.
    """
    whole = programme(organisation) if whole is None else whole
    book = Rulebook.of(organisation, whole, known_by)
    judged = [person.pk for person in (people if evidence_of is None else evidence_of)]
    rows = watched_assessments(FactsWanted(judged, codes if evidence_in is None else evidence_in)) if judged else []
    if stored and known_by is None and rows:
        rows = [*in_doubt(rows)]
    others = {row[1] for row in rows} - {person.pk for person in people}
    watching = Person.objects.filter(pk__in=others) if others else ()
    found = own_facts([*people, *watching], codes, book)
    mine = {str(person.pk): found[str(person.pk)] for person in people}
    if not rows:
        return mine
    watchers = Watchers(whole, found, known_by)
    seen = {str(row[0]): seen_by(row, book) for row in rows}
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
        rows = list(Procedure.objects.of(organisation).values_list("code", "area", "stands_for"))
        return cls(
            whole=whole,
            areas={code: area for code, area, _ in rows},
            doings=tuple((COUNTS_AS[ProcedureRole(role)], code) for code, _, role in rows if role in COUNTS_AS),
            granted=grant_facts(organisation, known_by),
        )


def watched_assessments(asked: "FactsWanted") -> list[tuple[Any, ...]]:
    """(id, observer, procedure code, site, day) of each assessment that somebody of the practice watched."""
    rows = Observation.objects.filter(
        person__in=asked.people, purpose=Observation.Purpose.ASSESSMENT, observer__isnull=False,
        **asked.named("version__procedure__code"),
    )  # fmt: skip
    return list(rows.values_list("pk", "observer_id", "version__procedure__code", "site_id", "happened_on"))


def in_doubt(rows: Collection[tuple[Any, ...]]) -> Iterator[tuple[Any, ...]]:
    """Those that the stored spans do not let count for sure: whose watcher was not usable at the end of that day, or about
    whom something was decided in it. Two queries; most often none is left, and nothing of those who watched is read."""
    observers = {row[1] for row in rows}
    usable: dict[tuple[UUID, str], list[tuple[date, date | None]]] = defaultdict(list)
    spans = StandingSpan.objects.usable().filter(person__in=observers, procedure__code__in={row[2] for row in rows})
    for who, code, first, after in spans.values_list("person_id", "procedure__code", "first", "after"):
        usable[who, code].append((first, after))
    decided = decided_on(observers)
    for row in rows:
        _, who, code, _, day = row
        alone = any(first <= day and (after is None or day < after) for first, after in usable[who, code])
        if not alone or (who, day) in decided:
            yield row


def decided_on(people: Collection[UUID]) -> set[tuple[UUID, date]]:
    """The days on which each was signed, withdrawn, carried over, given a founding grant, or taught a topic. One query."""
    signed, *others = (
        model._default_manager.filter(person__in=people).order_by().values_list("person_id", "happened_on")
        for model in (SignOff, Withdrawal, CarriedOver, FoundingGrant)
    )
    taught = Attendance.objects.filter(person__in=people).order_by().values_list("person_id", "session__happened_on")
    return set(signed.union(*others, taught))


def seen_by(row: tuple[Any, ...], book: Rulebook) -> WatchedBy:
    """Who watched it, and whether a founding grant or a reason given with their authority covers it there and then."""
    _, observer, code, site, day = row
    watcher = str(observer)
    theirs = [g for g in book.granted if g.person == watcher and g.site == site and g.covers(code, book.areas[code])]
    alive = [grant for grant in theirs if grant.holds_on(day)]
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

    def named(self, column: str) -> dict[str, Any]:
        """The filter on a column that holds a procedure's code."""
        return {} if self.codes is None else {f"{column}__in": self.codes}

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


def observed(asked: FactsWanted) -> Found:
    columns = (
        "person_id",
        "version__procedure__code",
        "version__number",
        "purpose",
        "method",
        "outcome",
        "critical_miss",
    )
    rows = Observation.objects.filter(person__in=asked.people, **asked.named("version__procedure__code"))
    more = ("observer_id", "witness_id", "version__critical_when", "sheet_id")
    for row in rows.annotate(asked_marks=MARKS_ASKED).values_list(*COMMON, *columns, "asked_marks", *more):
        person, code, number, purpose, method, outcome, miss, marks, observer, witness, keys, sheet = row[5:]
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
    rows = KnowledgeResult.objects.filter(person__in=asked.people, **asked.named("version__procedure__code"))
    for row in rows.values_list(*COMMON, "person_id", "version__procedure__code", "version__number", "passed"):
        person, code, number, passed = row[5:]
        yield (str(person), code), facts.CheckTaken(**common(row), version=number, passed=passed)


def signed(asked: FactsWanted) -> Found:
    rows = SignOff.objects.filter(person__in=asked.people, **asked.named("version__procedure__code"))
    for row in rows.values_list(*COMMON, "person_id", "version__procedure__code", "version__number"):
        person, code, number = row[5:]
        yield (str(person), code), facts.Signed(**common(row), version=number)


def withdrawn(asked: FactsWanted) -> Found:
    rows = Withdrawal.objects.filter(person__in=asked.people, **asked.named("procedure__code"))
    for row in rows.values_list(*COMMON, "person_id", "procedure__code"):
        yield (str(row[5]), row[6]), facts.Withdrawn(**common(row))


def carried(asked: FactsWanted) -> Found:
    rows = CarriedOver.objects.filter(person__in=asked.people, **asked.named("procedure__code"))
    for row in rows.values_list(*COMMON, "person_id", "procedure__code", "original_day", "valid_until"):
        person, code, original, until = row[5:]
        yield (str(person), code), facts.CarriedOver(**common(row), original_day=original, valid_until=until)


def founded(asked: FactsWanted) -> Found:
    rows = FoundingGrant.objects.filter(person__in=asked.people)
    for row in rows.values_list(*COMMON, "person_id", "procedures", "to_day"):
        person, codes, until = row[5:]
        for code in filter(asked.includes, codes):
            yield (str(person), code), facts.Founded(**common(row), valid_until=until)


def taught(asked: FactsWanted) -> Found:
    """Countable sessions only: a missing field keeps a session out (O-04, O-05), and what is extra moves no yearly day."""
    rows = Attendance.objects.filter(person__in=asked.people, session__extra=False).exclude(job_title="")
    if asked.codes is not None:
        rows = rows.filter(session__topics__version__procedure__code__in=asked.codes).distinct()
    for row in rows.select_related("session").prefetch_related(
        "session__topics__version__procedure", "session__attendances__person"
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


def watched(asked: FactsWanted, book: Rulebook) -> Found:
    """Days on which these people observed somebody else with authority for it."""
    mine: dict[str, list[GrantFact]] = defaultdict(list)
    for grant in book.granted:
        mine[grant.person].append(grant)
    authorised = [pk for pk in asked.people if str(pk) in mine]
    if not authorised:
        return
    rows = Observation.objects.filter(observer__in=authorised, **asked.named("version__procedure__code"))
    for row in rows.values_list(*COMMON, "observer_id", "version__procedure__code", "site_id"):
        observer, code, site = str(row[5]), row[6], row[7]
        if any(g.site == site and g.covers(code, book.areas[code]) and g.holds_on(row[1]) for g in mine[observer]):
            yield (observer, code), facts.WatchedOthers(**common(row))


def upkeep_done(asked: FactsWanted, book: Rulebook) -> Found:
    """Upkeep that these people did, for each procedure of which a version covers the task."""
    covered: dict[str, set[str]] = defaultdict(set)
    for code in filter(asked.includes, book.whole):
        for version in book.whole[code].versions:
            for task in version.policy.upkeep_covered:
                covered[task].add(code)
    if not covered:
        return
    rows = UpkeepEntry.objects.filter(done_by__in=asked.people, task__code__in=list(covered))
    for row in rows.values_list(*COMMON, "done_by_id", "task__code"):
        for code in covered[row[6]]:
            yield (str(row[5]), code), facts.DidUpkeep(**common(row))


def done_by_fact(asked: FactsWanted, book: Rulebook) -> Found:
    """Tools that these people set in and jobs that they started: each is the work done, for the procedures that stand for
    it. A query for each kind."""
    by_model: dict[Any, list[str]] = defaultdict(list)
    for model, code in book.doings:
        if asked.includes(code):
            by_model[model].append(code)
    for model, codes in by_model.items():
        for row in model.objects.filter(done_by__in=asked.people).values_list(*COMMON, "done_by_id"):
            for code in codes:
                yield (str(row[5]), code), facts.DidUpkeep(**common(row))


def add_voids(found: dict[Key, list[facts.Fact]]) -> None:
    """Where a fact is corrected by one that is not of the same person and procedure (a plain voiding, or the wrong person
    put right), a Void takes its place in this list. Corrections of corrections follow, level by level."""
    owners: dict[str, set[Key]] = defaultdict(set)
    for key, rows in found.items():
        for fact in rows:
            owners[fact.id].add(key)
    level = set(owners)
    while level:
        seals = list(Seal.objects.filter(corrects__in=level).values_list("fact", "corrects", "recorded_at"))
        level = set()
        for fact_id, corrects, recorded_at in seals:
            for key in owners[str(corrects)] - owners[str(fact_id)]:
                found[key].append(void_of(str(fact_id), str(corrects), recorded_at))
                owners[str(fact_id)].add(key)
                level.add(str(fact_id))


def void_of(fact_id: str, corrects: str, recorded_at: datetime) -> facts.Void:
    return facts.Void(id=fact_id, day=recorded_at.date(), recorded_at=recorded_at, corrects=corrects)
