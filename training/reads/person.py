"""One person’s page: where they stand in everything that is asked of them, and in one procedure in full."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from clinic.models import Appointment, Person, RoleHeld, Seal, Site
from clinic.reads.known import as_known_at, holds
from clinic.rules.days import plus_months
from clinic.rules.ids import as_id
from clinic.rules.words import day_words, in_text
from training.models import Procedure, SignOff
from training.reads.person_facts import FactLine, FactsShown, facts_shown
from training.reads.plan import PieceShown, Training, pieces, training_of
from training.rules.evidence import EvidenceDetail
from training.rules.facts import Evidence, State
from training.rules.plan import Asks, with_facts
from training.rules.sentence import ending_here, sentence
from training.rules.standing import Standing, StandingSpan, Stored, evidence_on
from training.rules.wording import BASES, EVIDENCES, cause_sentence, piece_missing

# What needs somebody soonest stands first.
BY_NEED = (
    State.LAPSED, State.ON_HOLD, State.WITHDRAWN, State.DUE, State.READY, State.LEARNING, State.UNTRAINED, State.CURRENT,
)  # fmt: skip
NEVER_SIGNED = (State.READY, State.LEARNING, State.UNTRAINED)
BACK, AHEAD = 8, 10  # months of the picture before and after the day


@dataclass(frozen=True, slots=True)
class TimelineLine:
    """A procedure in the list of a person’s timelines."""

    code: str
    title: str
    span: StandingSpan
    spans: tuple[StandingSpan, ...]
    is_required: bool
    due: date | None
    says: str
    more: str

    @property
    def state(self) -> State:
        return self.span.state

    @property
    def is_quiet(self) -> bool:
        return self.state is State.CURRENT


@dataclass(frozen=True, slots=True)
class PersonPage:
    """Everything the page of a person shows on the day."""

    person: Person
    day: date
    roles: list[str]
    since: date | None
    first: date
    after: date
    lines: list[TimelineLine]
    overdue: list[TimelineLine]
    recorded: FactsShown
    marks: list[tuple[date, str, str]]

    @property
    def facts(self) -> list[FactLine]:
        return self.recorded.lines

    @property
    def loud(self) -> list[TimelineLine]:
        return [line for line in self.lines if not line.is_quiet]

    @property
    def quiet(self) -> list[TimelineLine]:
        return [line for line in self.lines if line.is_quiet]

    @property
    def alone(self) -> int:
        return sum(line.state.is_usable for line in self.lines)

    @property
    def asked(self) -> int:
        return sum(line.is_required for line in self.lines)

    @property
    def held(self) -> int:
        return sum(line.is_required and line.state.is_usable for line in self.lines)

    @property
    def ends_first(self) -> TimelineLine | None:
        """The usable one whose last good day comes first."""
        ending = [line for line in self.lines if line.state.is_usable and line.span.ends_on]
        return min(ending, key=lambda line: (line.span.ends_on, line.code), default=None)


def picture_days(day: date) -> tuple[date, date]:
    """From the first of a month eight months back, up to that of ten months on."""
    first = day.replace(day=1)
    return plus_months(first, -BACK), plus_months(first, AHEAD)


def person_page(
    site: Site, person: Person, day: date, known_by: datetime | None = None, through: date | None = None
) -> PersonPage:
    """As of the day, with everything known now, or at an earlier instant: facts (the newest, or the newest `through` a day),
    job roles and what they need."""
    training = training_of(person, day, known_by)
    lines = lines_of(training)
    first, after = picture_days(day)
    roles = roles_on(person, site, day, known_by)
    return PersonPage(
        person=person,
        day=day,
        roles=[in_text(row.job_role.title) for row in roles] + posts_on(person, day, known_by),
        since=min((row.from_day for row in roles), default=None),
        first=first,
        after=after,
        lines=lines,
        overdue=[line for line in lines if line.due and line.due < day and line.state in NEVER_SIGNED],
        recorded=facts_shown(person, known_by=known_by, through=through),
        marks=ending_marks(lines, day, after),
    )


def roles_on(person: Person, site: Site, day: date, known_by: datetime | None = None) -> list[RoleHeld]:
    """Those held at the site that day, else anywhere; as known at the instant."""
    rows = as_known_at(RoleHeld.objects.filter(person=person).select_related("job_role"), known_by)
    held = [row for row in rows if holds(row, day)]
    return [row for row in held if row.site_id == site.pk] or held


def posts_on(person: Person, day: date, known_by: datetime | None = None) -> list[str]:
    rows = as_known_at(Appointment.objects.filter(person=person), known_by)
    return [row.get_post_display() for row in rows if holds(row, day)]


def lines_of(training: Training) -> list[TimelineLine]:
    """What is asked (with what that rests on), and whatever else the person has a standing in; by need."""
    asks, found = training.asks, []
    for code, standing in training.standings.items():
        span = standing.on(training.day)
        if code in asks.due or span.state is not State.UNTRAINED:
            found.append(line_of(training, standing, span, asks))
    return sorted(found, key=lambda line: (BY_NEED.index(line.state), line.span.ends_on or date.max, line.code))


def line_of(training: Training, standing: Standing | Stored, span: StandingSpan, asks: Asks) -> TimelineLine:
    due = asks.due.get(standing.procedure)
    code, row = standing.procedure, training.procedures[standing.procedure]
    return TimelineLine(
        code=code,
        title=row.title,
        span=span,
        spans=standing.spans,
        is_required=code in asks.own,
        due=due,
        says=sentence(span, training.titles, is_topic=row.is_topic),
        more=more_words(training, standing, span, due),
    )


def more_words(training: Training, standing: Standing | Stored, span: StandingSpan, due: date | None) -> str:
    """What helps on beside the sentence: by when it is to be learnt, and what is missing first."""
    if span.state is State.UNTRAINED:
        return f"Due by {day_words(due)}." if due else ""
    if span.state is State.LEARNING:
        missing = evidence_on(with_facts(standing), training.day).missing
        return " ".join([piece_missing(piece, training.names)[0] for piece in missing][:2])
    return ""


def ending_marks(lines: Sequence[TimelineLine], day: date, after: date) -> list[tuple[date, str, str]]:
    """The next endings on the steel rule, one shape a day with the codes that end on it."""
    ends: dict[date, list[str]] = {}
    for line in lines:
        last = line.span.ends_on
        if line.state.is_usable and last and day <= last < after:
            ends.setdefault(last, []).append(line.code)
    return [(last, "due", several_codes(codes)) for last, codes in sorted(ends.items())[:6]]


def several_codes(codes: Sequence[str]) -> str:
    return codes[0] if len(codes) == 1 else f"{codes[0]} and {len(codes) - 1} more"


@dataclass(frozen=True, slots=True)
class TimelineStretch:
    """One span of the timeline in words, with the fact that caused it, where one fact did."""

    first: date | None
    last: date | None
    state: State
    says: str
    fact: UUID | None
    is_ahead: bool


FAR = timedelta(days=28)  # what is wanted later than this is no alarm yet (own choice, as the week plan looks ahead)


@dataclass(frozen=True, slots=True)
class ProcedurePage:
    """One person in one procedure on the day, in full."""

    person: Person
    procedure: Procedure
    day: date
    span: StandingSpan
    spans: tuple[StandingSpan, ...]
    first: date
    after: date
    says: str
    then: str
    basis: str
    version: int | None
    for_renewal: bool
    evidence: str
    pieces: list[PieceShown]
    stretches: list[TimelineStretch]
    recorded: FactsShown
    rests_on: list[FactLine]
    deciding: FactLine | None
    is_ready: bool
    due: date | None

    @property
    def state(self) -> State:
        return self.span.state

    @property
    def is_far(self) -> bool:
        """Whether what is missing is wanted in weeks only: good for longer, or due later."""
        last = self.span.ends_on if self.state.is_usable else self.due
        return (
            self.state is not State.DUE
            and (self.state.is_usable or last is not None)
            and (last or date.max) - FAR > self.day
        )

    @property
    def deciding_rows(self) -> list[FactLine]:
        """The sign-off or withdrawal that decides, as a list for the part that draws facts."""
        return [self.deciding] if self.deciding else []

    @property
    def facts(self) -> list[FactLine]:
        return self.recorded.lines

    @property
    def certificates(self) -> list[FactLine]:
        return [fact for fact in self.recorded.these if fact.is_certificate]


def procedure_page(
    person: Person,
    procedure: Procedure,
    day: date,
    known_by: datetime | None = None,
    through: date | None = None,
) -> ProcedurePage:
    """As of the day, with everything known now or at an earlier instant; of the facts the newest, or the newest through a
    day."""
    training = training_of(person, day, known_by, of=[procedure.code])
    standing = with_facts(training.standings[procedure.code])
    span, detail = standing.on(day), evidence_on(standing, day)
    cause = as_id(span.cause) if span.state not in NEVER_SIGNED else None
    wanted = evidence_named(cause, detail)
    recorded = facts_shown(person, procedure.code, known_by, through, [*wanted, *([cause] if cause else [])])
    first, after = picture_days(day)
    return ProcedurePage(
        person=person,
        procedure=procedure,
        day=day,
        span=span,
        spans=standing.spans,
        first=first,
        after=after,
        says=sentence(span, training.titles, is_topic=procedure.is_topic),
        then=cause_sentence(span, training.names) if span.state.is_usable else "",
        basis=BASES[span.basis] if span.basis else "",
        version=detail.version,
        for_renewal=detail.for_renewal,
        evidence=EVIDENCES[detail.evidence],
        pieces=pieces(training, detail, procedure.code),
        stretches=stretches(training, standing, day),
        recorded=recorded,
        rests_on=[fact for fact in recorded.these if fact.id in wanted],
        deciding=next((fact for fact in recorded.these if fact.id == cause), None),
        is_ready=detail.evidence is Evidence.ENOUGH,
        due=training.asks.due.get(procedure.code),
    )


def evidence_named(deciding: UUID | None, detail: EvidenceDetail) -> set[UUID]:
    """What a sign-off rests on; where none decides, the evidence that counts on the day."""
    signed = SignOff.objects.filter(pk=deciding).values_list("evidence", flat=True).first() if deciding else None
    found = ids_in(signed) if signed else {*detail.rests_on}
    return {named for each in found if (named := as_id(each))}


def ids_in(evidence: Any) -> set[str]:
    """The ids in a sign-off’s frozen evidence, whether it lists ids or rows with an id."""
    return {str(row.get("id") or row.get("fact")) if isinstance(row, dict) else str(row) for row in evidence}


def stretches(training: Training, standing: Standing, day: date) -> list[TimelineStretch]:
    """The timeline in words, newest first, from the day anything was known."""
    spans = [span for span in standing.spans if span.first > date.min or span.state is not State.UNTRAINED]
    known = set(
        Seal.objects.filter(fact__in=[c for c in (as_id(s.cause) for s in spans) if c]).values_list("fact", flat=True)
    )
    return [stretch(training, span, day, known) for span in reversed(spans)]


def stretch(training: Training, span: StandingSpan, day: date, known: set[UUID]) -> TimelineStretch:
    fact = as_id(span.cause)
    return TimelineStretch(
        first=span.first if span.first > date.min else None,
        last=span.after - timedelta(days=1) if span.after else None,
        state=span.state,
        says=f"{cause_sentence(span, training.names)} {ending_here(span, training.titles)}".strip(),
        fact=fact if fact in known else None,
        is_ahead=span.first > day,
    )
