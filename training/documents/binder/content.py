"""What a binder says, frozen: str, int, bool, lists and content of these; every day and time is ISO text."""

from collections import Counter
from dataclasses import dataclass, field
from functools import cached_property

from training.documents.charts import Track
from training.documents.content import Content

PACKING = 1  # of what is frozen from now on


@dataclass(frozen=True)
class Question(Content):
    """What an inspector asks. `section` is a key of SECTIONS (its page is printed), or else `kept` says where it is.

    `source`: where the question comes from, printed small below the answer.
    """

    ask: str
    answer: str
    section: str
    kept: str
    source: str = ""


@dataclass(frozen=True)
class Member(Content):
    """One line of the roster; `until` is empty while it lasts."""

    name: str
    job_roles: str
    since: str
    until: str


@dataclass(frozen=True)
class Head(Content):
    """A column of the matrix."""

    code: str
    title: str


@dataclass(frozen=True)
class MatrixRow(Content):
    """One person; one state a procedure, empty where it is not asked of the job role."""

    name: str
    states: list[str]


@dataclass(frozen=True)
class SpanRow(Content):
    """One stretch of a person's standing. `through` is the last day shown, empty when open. `fact`: id of its cause."""

    procedure: str
    state: str
    first: str
    through: str
    basis: str
    cause: str
    fact: str = ""

    def holds_on(self, day: str) -> bool:
        return self.first <= day and (not self.through or day <= self.through)


@dataclass(frozen=True)
class ObservationRow(Content):
    """One performance that was watched. `counts`: why it is or is not evidence, in words. `fact`: id."""

    day: str
    procedure: str
    version: int
    purpose: str
    method: str
    outcome: str
    watched_by: str
    notes: str
    unit: str = ""
    counts: str = ""
    fact: str = ""
    written: str = ""


@dataclass(frozen=True)
class SignOffRow(Content):
    """One signature: printed name, time and meaning. `kind`: sign-off, withdrawal, founding grant, carried over.

    `version`: 0 where it stands for several procedures. `elements`: the numbers of the elements that were covered. `at`: the
    day and time it was done. `through`: the last good day, whatever ended it; `ended` says what did, earlier than was signed.
    `written`: the day it was written, where that was later.
    """

    procedure: str
    version: int
    kind: str
    signer: str
    at: str
    meaning: str
    through: str
    elements: str = ""
    basis: str = ""
    fact: str = ""
    written: str = ""
    ended: str = ""


@dataclass(frozen=True)
class EvidenceRow(Content):
    """What a standing rests on, counted: met performances of how many, on how many days, watched by how many."""

    procedure: str
    version: int
    met: int
    of: int
    days: int
    watchers: int
    check: str
    evidence: str


@dataclass(frozen=True)
class AloneRow(Content):
    """One procedure on the day of the binder, in the one sentence. `asked`: the job asks for it."""

    procedure: str
    state: str
    says: str
    asked: bool

    @property
    def may(self) -> bool:
        return self.state in ("current", "due")


@dataclass(frozen=True)
class PersonRecord(Content):
    """Everything the register keeps of one person's mastery in the period. `says` opens it: what may be done alone."""

    name: str
    job_roles: str
    spans: list[SpanRow]
    observations: list[ObservationRow]
    sign_offs: list[SignOffRow]
    checks: list[str]
    says: str = ""
    evidence: list[EvidenceRow] = field(default_factory=list)
    taught: list[str] = field(default_factory=list)
    corrections: list[str] = field(default_factory=list)
    alone: list[AloneRow] = field(default_factory=list)


@dataclass(frozen=True)
class Attendee(Content):
    """Somebody taught, with the job title held that day."""

    name: str
    job_title: str


@dataclass(frozen=True)
class Session(Content):
    """One taught session. `countable`: empty, or what is missing for it to count. `handed_out` and `demonstrated` are whole
    sentences, also where nothing was said; empty in a binder made before they were asked."""

    day: str
    topics: str
    summary: str
    trainer: str
    qualification: str
    live_questions: bool
    language: str
    attendees: list[Attendee]
    countable: str = ""
    fact: str = ""
    handed_out: str = ""
    demonstrated: str = ""


@dataclass(frozen=True)
class Step(Content):
    """One line of a procedure; `when` and `caution` may be empty."""

    words: str
    critical: bool
    caution: str
    when: str


@dataclass(frozen=True)
class ProcedureText(Content):
    """A version in force, in full. `policy`: what a sign-off asks, a sentence a line."""

    code: str
    title: str
    version: int
    in_force_from: str
    approved_by: str
    maker: str
    purpose: str
    hazards: list[str]
    protection: list[str]
    steps: list[Step]
    sources: list[str]
    policy: list[str] = field(default_factory=list)
    change: str = ""


@dataclass(frozen=True)
class SourceRow(Content):
    """What one row of the sources says, and how sure that is, in words; texts name it by its row."""

    row: str
    says: str
    means: str


@dataclass(frozen=True)
class AuthorityRow(Content):
    """Who may observe and sign what, from when to when, and how that starts. `written`: the day it was written, where that
    was later than the day it began to hold."""

    name: str
    covers: str
    since: str
    until: str
    granted_by: str
    rests_on: str
    written: str = ""


@dataclass(frozen=True)
class SignedRow(Content):
    """How many sign-offs one signer gave one person."""

    signer: str
    person: str
    procedures: str
    count: int


@dataclass(frozen=True)
class UpkeepRow(Content):
    """One upkeep entry."""

    day: str
    equipment: str
    task: str
    done_by: str
    allowed: str
    readings: str
    in_time: str
    stood_by: str = ""
    fact: str = ""
    written: str = ""


@dataclass(frozen=True)
class FindingRow(Content):
    """One finding. Weight: stop, fix or note. `ends`: what ends it. `since` and `until`: its first and its last day, the last
    empty while it lasts. `fact`: id of the record that it rests on first, empty where it rests on there being none."""

    weight: str
    says: str
    since: str
    done: str
    ends: str = ""
    until: str = ""
    fact: str = ""


@dataclass(frozen=True)
class Extra(Content):
    """A table with its own columns. Key: water, spores, drivers, tools or jobs, each a section; any other stands after them.

    `shares`: how wide each column is beside the others, equal when empty. A cell that is an ISO day is printed as a day.
    When `grouped`, the first cell of each row names the equipment that the row belongs to, and the columns are the others.
    """

    title: str
    says: str
    columns: list[str]
    rows: list[list[str]]
    key: str = ""
    shares: list[int] = field(default_factory=list)
    grouped: bool = False


@dataclass(frozen=True)
class UnitYear(Content):
    """One piece of equipment: its days from `first` to `last`, one track a task, and how much of them was in time."""

    equipment: str
    kind: str
    serial: str
    first: str
    last: str
    tracks: list[Track]
    says: str


@dataclass(frozen=True)
class EventRow(Content):
    """A sharps injury or other event. It has no field for a person; free words are searched for names when drawn.

    `device`: the unit it happened at; `brand`: kind and brand of what did it. `contaminated`: yes, no or unsure; empty where
    that was not asked. `logged`: an injury by a sharp that was contaminated, or may have been (O-09)."""

    day: str
    kind: str
    area: str
    device: str
    brand: str
    how: str
    learnt: str
    contaminated: str = ""
    logged: bool = False


@dataclass(frozen=True)
class KeptRow(Content):
    """Something kept outside the register: where, by which keeper, and when it was last reviewed (empty: not noted)."""

    what: str
    place: str
    keeper: str
    reviewed: str


@dataclass(frozen=True)
class BinderContent(Content):
    """A binder for a site, a period and an as-of day.

    `fact_url` and a fact's id together are the address of that fact. `number`, `code` and `check_url` belong to the
    issue and may be empty until there is one. `checkpoint` is the signed head of the site's log when the binder was made,
    `log_check` the command that holds a later log against it, `log_key` the public key; all empty without one.
    `register`: how the register itself is kept, a sentence a thing. `doubts`: of each failed check of a driver what is in doubt,
    for the short form, which has no table of it.
    `packing`: how tightly its file is packed (`archive.LEVELS`); what was frozen before there was a choice does not say.
    `pathogens` is the code of the topic that stands for bloodborne pathogens. `coordinator`: who coordinates infection
    prevention, in a sentence.
    """

    organisation: str
    site: str
    address: str
    paper: str
    language: str
    first: str
    last: str
    as_of: str
    made_at: str
    known_by: str
    short: bool
    stop: int
    fix: int
    note: int
    kept_elsewhere: int
    late: list[Track]
    late_says: str
    questions: list[Question]
    scope: list[str]
    roster: list[Member]
    procedures: list[Head]
    matrix: list[MatrixRow]
    minimum: int
    people: list[PersonRecord]
    sessions: list[Session]
    texts: list[ProcedureText]
    authorities: list[AuthorityRow]
    signed: list[SignedRow]
    upkeep: list[UpkeepRow]
    findings: list[FindingRow]
    extras: list[Extra]
    seals: list[str]
    how_to_check: list[str]
    number: str = ""
    code: str = ""
    check_url: str = ""
    checkpoint: str = ""
    pathogens: str = ""
    log_check: str = ""
    log_key: str = ""
    fact_url: str = ""
    coordinator: str = ""
    sources: list[SourceRow] = field(default_factory=list)
    years: list[UnitYear] = field(default_factory=list)
    events: list[EventRow] = field(default_factory=list)
    kept: list[KeptRow] = field(default_factory=list)
    register: list[str] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)
    packing: int = 0

    def record_of(self, name: str) -> str:
        """The key of the record of the one person of that name; empty where there is none, or more than one."""
        return self._records.get(name, "")

    @cached_property
    def _records(self) -> dict[str, str]:
        held = Counter(person.name for person in self.people)
        return {person.name: f"person-{n}" for n, person in enumerate(self.people) if held[person.name] == 1}
