"""What people’s job roles ask of them, and one person’s plan, as plain data for pages and papers."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from operator import attrgetter
from typing import Any

from clinic.models import Person, RoleHeld
from clinic.prepared import Prepared
from clinic.reads.known import as_known_at, holds
from clinic.rules.site_text import by_name
from clinic.rules.words import begun, in_text
from training import gather
from training.models import Procedure, Requirement, StandingSpan, Version
from training.reads.standing import standings_on
from training.rules.evidence import EvidenceDetail, Piece, PieceKind
from training.rules.facts import Evidence, ProcedureFacts, State
from training.rules.plan import Asks, PlanLine, Required, asks_of, closure, earliest_due, plan
from training.rules.standing import Standing, Stored
from training.rules.teaching import Crew
from training.rules.teaching_wording import beyond_words
from training.rules.wording import piece_missing, piece_there
from training.spans import computed_in
from training.waiting import PreparedSpans


@dataclass(frozen=True, slots=True)
class Training:
    """One person’s training, read once for a page: the programme, the timelines in it, and what is required on the day."""

    person: Person
    day: date
    procedures: Mapping[str, Procedure]
    programme: Mapping[str, ProcedureFacts]
    standings: Mapping[str, Standing | Stored]
    required: tuple[Required, ...]
    step_words: Mapping[str, Mapping[str, str]]  # procedure code → step key → words, of the version in force
    crew: Crew | None = None  # who may teach, watch and sign, and when, where it was asked

    @property
    def titles(self) -> dict[str, str]:
        """As they stand, by code."""
        return {code: row.title for code, row in self.procedures.items()}

    @property
    def names(self) -> dict[str, str]:
        """Titles for running text, by code."""
        return {code: in_text(row.title) for code, row in self.procedures.items()}

    @property
    def asks(self) -> Asks:
        """What is asked on the day, with what that rests on."""
        return asks_of(self.required, self.programme, self.day)

    @property
    def lines(self) -> tuple[PlanLine, ...]:
        """The plan of the day, prerequisites first."""
        return plan(self.required, self.programme, self.standings, self.day, self.crew)


@dataclass(frozen=True, slots=True)
class PieceShown:
    """One piece of evidence in words, as the board of trays takes it."""

    there: bool
    says: str
    supply: str = ""


def training_of(person: Person, day: date, known_by: Any = None, of: Collection[str] = ()) -> Training:
    """A fixed number of queries, whatever the person has done. Facts are read only of what is not done: asked and not held, or
    being learnt; and `of` these procedures. As known at an instant, of all."""
    organisation = person.organisation
    programme = gather.programme(organisation)
    required = tuple(required_of([person], day, known_by)[person.pk])
    if known_by is None:
        asked = asks_of(required, programme, day).rests_on
        standings = standings_on(programme, [person], day, {person.pk: asked}, of)[person.pk]
    else:
        standings = {**computed_in(programme, organisation, [person], known_by)[str(person.pk)]}
    return Training(
        person=person,
        day=day,
        procedures={row.code: row for row in Procedure.objects.of(organisation)},
        programme=programme,
        standings=standings,
        required=required,
        step_words=step_words(person, day, known_by),
    )


def step_words(person: Person, day: date, known_by: Any = None) -> dict[str, dict[str, str]]:
    """The words of conditional critical steps, which the board names when they were never shown."""
    rows = Version.objects.live(known_by).in_force(day).filter(procedure__organisation=person.organisation)
    rows = rows.exclude(critical_when=[])  # what a version says is long, and few have any
    found = {}
    for code, keys, content in rows.values_list("procedure__code", "critical_when", "content"):
        steps = {step["key"]: step for step in content.get("steps", [])}
        found[code] = {key: plain_words(steps[key]) for key in keys if key in steps}
    return found


def plain_words(step: Mapping[str, str]) -> str:
    """The case that the step is for, or the step; a {site fact} by its name."""
    return by_name(step["when"] or step["do"])


def required_of(people: Collection[Person], day: date, known_by: Any = None) -> dict[Any, list[Required]]:
    """What the job roles held on the day ask of each person, as known at the instant; two queries for any number of people,
    and two more for what was changed since."""
    asks: dict[int, list[tuple[Any, ...]]] = defaultdict(list)
    found: dict[Any, list[Required]] = defaultdict(list)
    keys = [person.pk for person in people]
    if known_by is None:
        wanted, held = WANTED_NOW.rows(day=[day]), HELD_NOW.rows(people=keys, day=[day])
    else:
        wanted = columns_then(Requirement.objects.select_related("procedure"), ASKS, day, known_by)
        rows = RoleHeld.objects.filter(person__in=keys).select_related("site")
        held = columns_then(rows, HELD, day, known_by)
    for role, *ask in wanted:
        asks[role].append(tuple(ask))
    for role, person, site, role_start, register_start in held:
        for at, code, start, days in asks[role]:
            if at in (None, site):
                found[person].append(Required(code, role_start, start, register_start, days))
    return found


ASKS = ("job_role_id", "site_id", "procedure.code", "from_day", "days_allowed")
HELD = ("job_role_id", "person_id", "site_id", "from_day", "site.register_start")


def columns_then(rows: Any, names: Collection[str], day: date, known_by: Any) -> Iterator[tuple[Any, ...]]:
    """Of the rows that hold on the day, as known at the instant."""
    return (attrgetter(*names)(row) for row in as_known_at(rows, known_by) if holds(row, day))


def columns(names: Collection[str]) -> list[str]:
    return [name.replace(".", "__") for name in names]


WANTED_NOW = Prepared(lambda day: Requirement.objects.in_force(day[0]).values_list(*columns(ASKS)))
HELD_NOW = Prepared(
    lambda people, day: RoleHeld.objects.held_on(day[0]).filter(person__in=people).values_list(*columns(HELD))
)


def pieces(training: Training, detail: EvidenceDetail, code: str) -> list[PieceShown]:
    """Every piece of the evidence, there or missing, in words."""
    return [piece_shown(training, piece, training.step_words.get(code, {})) for piece in detail.pieces]


def piece_shown(training: Training, piece: Piece, steps: Mapping[str, str]) -> PieceShown:
    if piece.is_there:
        return PieceShown(True, piece_there(piece))
    if piece.kind is PieceKind.STEPS:  # two steps may share one when: it is said once
        piece = piece._replace(missing=tuple(dict.fromkeys(steps.get(key, key) for key in piece.missing)))
    return PieceShown(False, *piece_missing(piece, training.names))


@dataclass(frozen=True, slots=True)
class PlanRow:
    """A line of the plan as the page shows it."""

    code: str
    title: str
    line: PlanLine
    says: str
    missing: tuple[PieceShown, ...]
    rests_on: tuple[str, ...]
    needed_for: tuple[str, ...]

    @property
    def state(self) -> State:
        return self.line.state

    @property
    def why_beyond(self) -> str:
        """Why the days that were looked at do not reach; empty where they do."""
        return beyond_words(self.line.lessons) if self.line.is_beyond else ""

    @property
    def is_begun(self) -> bool:
        """Something is there already, so that what is missing is worth reading at once."""
        return self.line.state is not State.UNTRAINED


def plan_rows(training: Training) -> list[PlanRow]:
    """The plan in prerequisite order with its sentences."""
    return [plan_row(training, line) for line in training.lines]


def holds_all_asked(person: Person, day: date) -> bool:
    """Whether nothing of the plan is left to do, by the stored spans: neither history nor what was watched is read."""
    asked, programme = earliest_due(required_of([person], day)[person.pk]), gather.programme(person.organisation)
    return {*closure(asked, programme, day)} <= held_on([person], day)[person.pk]


def held_on(people: Collection[Person], day: date) -> dict[Any, set[str]]:
    """By person: what they may do alone on the day, by the stored spans."""
    found: dict[Any, set[str]] = defaultdict(set)
    for person, code in USABLE.rows(people=[person.pk for person in people], day=[day]):
        found[person].add(code)
    return found


USABLE = PreparedSpans(
    lambda people, day: (
        StandingSpan.objects.on(day[0]).usable().filter(person__in=people).values_list("person", "procedure__code")
    )
)


def plan_row(training: Training, line: PlanLine) -> PlanRow:
    code = line.procedure
    shown = pieces(training, line.detail, code) if line.detail else []
    row = training.procedures[code]
    return PlanRow(
        code,
        row.title,
        line,
        plan_says(line, row),
        tuple(p for p in shown if not p.there),
        line.rests_on,
        line.needed_for,
    )


SAYS = {
    State.UNTRAINED: "Nothing seen yet.",
    State.LAPSED: "Lapsed, to be renewed.",
    State.WITHDRAWN: "Withdrawn, to be shown again.",
    State.ON_HOLD: "On hold until what it rests on holds again.",
}


def plan_says(line: PlanLine, procedure: Procedure) -> str:
    """Where it stands, in a few words."""
    if line.detail is None:
        return "May work alone in it."
    if line.detail.version is None:
        return "No version is in force yet, so it cannot be learnt here."
    if procedure.is_topic:
        return "Taught in a session."
    if line.state is State.READY or line.detail.evidence is Evidence.ENOUGH:
        return "Everything is there: it can be signed."
    return SAYS.get(line.state, f"{begun(line.state.value)}.")
