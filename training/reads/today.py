"""What needs whoever looks today. A fixed number of queries, whatever the number of people."""

from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import date
from itertools import groupby
from typing import Any, NamedTuple

from clinic.models import Person, Site
from clinic.permissions import Allowed, May
from clinic.port import ToTeach, to_teach
from clinic.prepared import Instances
from clinic.reads.due_list import DueRow, due_now
from clinic.reads.incidents import events_waiting
from clinic.rules.upkeep_facts import UpkeepState
from clinic.rules.words import begun, day_words, several
from training.models import EvidenceSpan, InspectorPass, Observation, Procedure, SheetEntered, StandingSpan
from training.permissions import PROCEDURES, procedures_of
from training.reads.findings.misses import open_misses
from training.reads.findings.stored import weights_on
from training.reads.going_live import left_to_do
from training.reads.plan import PlanRow, held_on, holds_all_asked, plan_rows, required_of, training_of
from training.reads.sheets import to_confirm
from training.reads.teaching import possible
from training.reads.who_may import PEOPLE_HERE, at_work, usable_counts
from training.reads.worst import WorstRow, worst_for
from training.rules.facts import Evidence, State
from training.rules.plan import earliest_due
from training.rules.today import SOON, Candidate, WatchBy, whom_to_watch
from training.rules.today_needs import NeedKind, Needs, first_sentence, needs_of
from training.rules.wording import codes_in_runs
from training.waiting import PreparedSpans

SIGNABLE = (State.READY, State.DUE, State.LAPSED)


@dataclass(frozen=True, slots=True)
class Ready:
    """Somebody whose evidence is enough, in a procedure that the one who looks may sign."""

    person: Person
    procedure: Procedure
    state: State


@dataclass(frozen=True, slots=True)
class EndsTogether:
    """What one person may do alone through the same last good day, and no longer."""

    person: Person
    ends_on: date
    state: State
    procedures: list[Procedure]

    @property
    def says(self) -> str:
        return str(self.procedures[0]) if len(self.procedures) == 1 else f"{len(self.procedures)} procedures"

    @property
    def codes(self) -> str:
        return codes_in_runs(procedure.code for procedure in self.procedures)

    @property
    def short(self) -> str:
        """Beside its mark on the steel rule."""
        return f"{self.person.given_name}, {self.codes if len(self.procedures) == 1 else self.says}"


def and_more(people: int) -> str:
    """Whoever else shares a day with the one who is named."""
    return f" and {people - 1} more" if people > 1 else ""


@dataclass(frozen=True, slots=True)
class PersonHere:
    person: Person
    alone: int

    @property
    def says(self) -> str:
        return f"may work alone in {self.alone}"


@dataclass(slots=True)
class Today:
    """The page. Lists are empty where there is nothing, or where it is not for this person."""

    day: date
    misses: list[Observation] = field(default_factory=list)
    confirm: list[SheetEntered] = field(
        default_factory=list
    )  # entered from paper, watched by this person, or to be compared
    upkeep: list[DueRow] = field(default_factory=list)
    worst: list[WorstRow] = field(default_factory=list)  # at every site that the person answers for
    teach: list[ToTeach] = field(default_factory=list)  # to somebody, for whoever teaches
    taught: list[ToTeach] = field(default_factory=list)  # to oneself
    begin: int = 0  # points of going live that a new practice has not done, for whoever does them
    events: int = 0  # filed and not looked into, for whoever looks into them
    sign: list[Ready] = field(default_factory=list)
    learn: list[PlanRow] = field(default_factory=list)
    watch: list[WatchBy] = field(default_factory=list)
    ends: list[EndsTogether] = field(default_factory=list)
    here: list[PersonHere] = field(default_factory=list)
    passes: list[InspectorPass] = field(default_factory=list)
    weights: dict[str, int] | None = None
    only_reads: bool = False  # an inspector: nothing here but the binders of a pass

    @property
    def is_empty(self) -> bool:
        lists = (self.learn, self.watch, self.upkeep, self.ends, self.passes)
        return not (self.needs.total or any(lists))

    @property
    def ends_due(self) -> list[EndsTogether]:
        """What ends and is due by now."""
        return [one for one in self.ends if one.state is not State.CURRENT]

    @property
    def ends_later(self) -> list[EndsTogether]:
        """What ends, and needs nothing yet."""
        return [one for one in self.ends if one.state is State.CURRENT]

    @property
    def overdue(self) -> list[DueRow]:
        return [row for row in self.upkeep if row.state is UpkeepState.OVERDUE]

    @property
    def due(self) -> list[DueRow]:
        return [row for row in self.upkeep if row.state is UpkeepState.DUE]

    @property
    def late(self) -> list[PlanRow]:
        return [row for row in self.learn if row.line.is_overdue]

    @property
    def needs(self) -> Needs:
        """Of the rows that the page shows as what needs somebody."""
        rows = [(row.kind, [row]) for row in self.worst]
        return needs_of(
            [
                *rows,
                (NeedKind.MISS, self.misses),
                (NeedKind.CONFIRM, self.confirm),
                (NeedKind.OVERDUE, self.overdue),
                (NeedKind.SIGN, self.sign),
                (NeedKind.LEARN, self.late),
                (NeedKind.TAUGHT, self.taught),
                (NeedKind.TEACH, self.teach),
                (NeedKind.EVENTS, [self.events] if self.events else []),
                (NeedKind.BEGIN, [self.begin] if self.begin else []),
            ]
        )

    @property
    def first_sentence(self) -> str:
        if self.only_reads:
            return begun(f"{several(len(self.passes), 'binder is', 'binders are')} open to you.")
        following = next(iter(self.learn), None)
        if following is None:
            return first_sentence(self.needs)
        return first_sentence(self.needs, f"{following.title} ({following.code})", following.line.due)

    @property
    def is_urgent(self) -> bool:
        return self.needs.is_urgent

    @property
    def then(self) -> str:
        if self.only_reads:
            return "A pass opens a binder and the facts it rests on, until its last day, and nothing else."
        if not self.ends:
            return f"No sign-off ends before {day_words(self.day + SOON)}."
        first = self.ends[0]
        more = and_more(sum(one.ends_on == first.ends_on for one in self.ends))
        return f"Next to end: {first.person}, {first.says}{more}, good through {day_words(first.ends_on)}."

    @property
    def marks(self) -> list[tuple[date, str, str]]:
        """For the steel rule: at most one mark a day, so that words do not run into each other."""
        by_day = [list(those) for _, those in groupby(self.ends, key=lambda one: one.ends_on)]
        return [(those[0].ends_on, those[0].state.value, those[0].short + and_more(len(those))) for those in by_day][:6]


def today_for(allowed: Allowed, site: Site, day: date) -> Today:
    """Everything the page shows to this person at this site."""
    me = allowed.person
    page = Today(day, only_reads=not (allowed.may(May.OWN_RECORD, site) or allowed.may(May.READ_SITE, site)))
    if allowed.may(May.OWN_RECORD, site):
        page.learn = still_to_learn(me, site, day)
    if allowed.may(May.DUTY, site):
        page.upkeep = due_now(site, day)
        page.here = here_now(site, day)
    add_hazards(page, allowed, site)
    if allowed.may(May.ROSTER, site):
        page.events, page.begin = events_waiting(site), left_to_do(site, day)
    covered = procedures_of(me, site, day) if allowed.may(May.SIGN, site) else set()
    page.worst = worst_for(allowed, site, day) if not page.only_reads else []
    page.misses = misses_for(allowed, site, covered)
    page.confirm = to_confirm(me, site) if not page.only_reads else []
    if covered:
        page.sign, page.watch = work_of(me, site, day, covered)
    page.ends = ending(allowed, site, day)
    if allowed.may(May.APPOINT, site):
        page.weights = dict(weights_on(site, day))
    page.passes = PASSES.all(person=[me.pk], site=[site.pk], day=[day])
    return page


PASSES = Instances(
    InspectorPass,
    lambda person, site, day: (
        InspectorPass.objects.good_on(day[0])
        .filter(person__in=person, issue__site__in=site)
        .select_related("issue")
        .defer("issue__frozen")
    ),
)


def misses_for(allowed: Allowed, site: Site, covered: set[str]) -> list[Observation]:
    """All for those who run the site; for a supervisor those the authority covers."""
    runs = allowed.may(May.ROSTER, site)
    rows = open_misses(site) if runs or covered else []
    return [row for row in rows if runs or row.version.procedure.code in covered]


def still_to_learn(me: Person, site: Site, day: date) -> list[PlanRow]:
    """The lines of one's plan that are not done."""
    if holds_all_asked(me, day):
        return []
    return [row for row in plan_rows(possible(training_of(me, day), site)) if not row.line.is_done]


def add_hazards(page: Today, allowed: Allowed, site: Site) -> None:
    """New hazards: one's own first, and for whoever may record a session those of others."""
    found = to_teach(site, page.day) if allowed.may(May.OWN_RECORD, site) else []
    me = allowed.person.pk
    page.taught = [one for one in found if me in {key for key, _ in one.people}]
    if allowed.may(May.ROSTER, site) or allowed.may(May.SIGN, site):
        page.teach = [one for one in found if {key for key, _ in one.people} - {me}]


def here_now(site: Site, day: date) -> list[PersonHere]:
    people = at_work(site, day)
    counts = usable_counts(people, day)
    return [PersonHere(person, counts.get(person.pk, 0)) for person in people]


def ending(allowed: Allowed, site: Site, day: date) -> list[EndsTogether]:
    """Good today and over within sixty days: the site's for whoever reads the site, otherwise one's own."""
    me = None if allowed.may(May.READ_SITE, site) else [allowed.person.pk]
    rows = [*ENDING.rows(site=[site.pk], me=me, day=[day], by=[day + SOON])]
    people = {person.pk: person for person in PEOPLE.rows(keys={row[0] for row in rows})}
    procedures = {one.pk: one for one in PROCEDURES.rows(organisation=[site.organisation_id])} if rows else {}
    together: dict[tuple[date, Any], EndsTogether] = {}
    for who, what, ends_on, state in rows:
        alone = EndsTogether(people[who], ends_on, State(state), [])
        together.setdefault((ends_on, who), alone).procedures.append(procedures[what])
    return list(together.values())


def ending_at(site: Any, me: Any, day: Any, by: Any) -> Any:
    here = Person.objects.at_site(site[0], day[0])
    spans = StandingSpan.objects.on(day[0]).usable().filter(person__in=here.filter(pk__in=me) if me else here)
    rows = spans.filter(ends_on__lte=by[0]).order_by("ends_on", "person__family_name", "procedure__code")
    return rows.values_list("person_id", "procedure_id", "ends_on", "state")


ENDING = PreparedSpans(ending_at)
PEOPLE = Instances(Person, lambda keys: Person.objects.filter(pk__in=keys))


def work_of(me: Person, site: Site, day: date, covered: set[str]) -> tuple[list[Ready], list[WatchBy]]:
    """What somebody with authority should sign, and whom to watch. Six queries."""
    people = {p.pk: p for p in PEOPLE_HERE.rows(site=[site.pk], day=[day]) if p != me}
    known = PROCEDURES.rows(organisation=[site.organisation_id])
    procedures = {p.pk: p for p in known if p.code in covered and not p.is_topic}
    spans = spans_of(people, procedures, day)
    enough = enough_of(people, procedures, day)
    alone = held_on([me], day)[me.pk]
    ready = [
        Ready(people[who], procedures[what], spans[who, what].state)
        for who, what in enough
        if procedures[what].code in alone and (who, what) in spans and spans[who, what].state in SIGNABLE
    ]
    due = {pk: earliest_due(asks) for pk, asks in required_of(list(people.values()), day).items()}
    candidates = [
        candidate(
            people[who], procedure, spans.get((who, pk)), due.get(who, {}).get(procedure.code), (who, pk) in enough
        )
        for who in people
        for pk, procedure in procedures.items()
    ]
    return sorted(ready, key=lambda one: (one.person.family_name, one.procedure.code)), whom_to_watch(candidates, day)


class Stands(NamedTuple):
    """What decides of a span whom to watch first."""

    state: State
    since: date
    ends_on: date | None


def spans_of(people: Collection[Any], procedures: Collection[int], day: date) -> dict[tuple[Any, int], Stands]:
    rows = SPANS.rows(people=[*people], procedures=[*procedures], day=[day])
    return {(who, what): Stands(State(state), since, ends_on) for who, what, state, since, ends_on in rows}


SPANS = PreparedSpans(
    lambda people, procedures, day: (
        StandingSpan.objects.on(day[0])
        .filter(person__in=people, procedure__in=procedures)
        .values_list("person", "procedure", "state", "first", "ends_on")
    )
)


def enough_of(people: Collection[Any], procedures: Collection[int], day: date) -> set[tuple[Any, int]]:
    return {*ENOUGH.rows(people=[*people], procedures=[*procedures], day=[day])}


ENOUGH = PreparedSpans(
    lambda people, procedures, day: (
        EvidenceSpan.objects.on(day[0])
        .filter(evidence=Evidence.ENOUGH.value, person__in=people, procedure__in=procedures)
        .values_list("person", "procedure")
    )
)


def candidate(person: Person, procedure: Procedure, span: Stands | None, due: date | None, enough: bool) -> Candidate:
    return Candidate(
        person=str(person.pk),
        name=person.printed_name,
        procedure=procedure.code,
        state=span.state if span else State.UNTRAINED,
        ends_on=span.ends_on if span else None,
        since=span.since if span else None,
        due=due,
        enough=enough,
        title=procedure.title,
    )
