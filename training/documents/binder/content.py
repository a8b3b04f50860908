"""What a binder says, frozen: str, int, bool, lists and content of these; every day and time is ISO text."""

from dataclasses import dataclass

from training.documents.charts import Track
from training.documents.content import Content


@dataclass(frozen=True)
class Question(Content):
    """What an inspector asks. `section` is a key of SECTIONS (its page is printed), or else `kept` says where it is."""

    ask: str
    answer: str
    section: str
    kept: str


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
    """One stretch of a person's standing. `through` is the last day shown, empty when open."""

    procedure: str
    state: str
    first: str
    through: str
    basis: str
    cause: str


@dataclass(frozen=True)
class ObservationRow(Content):
    """One performance that was watched."""

    day: str
    procedure: str
    version: int
    purpose: str
    method: str
    outcome: str
    watched_by: str
    notes: str


@dataclass(frozen=True)
class SignOffRow(Content):
    """One signature: printed name, time and meaning. `kind`: sign-off, withdrawal, founding grant, carried over."""

    procedure: str
    version: int
    kind: str
    signer: str
    at: str
    meaning: str
    through: str


@dataclass(frozen=True)
class PersonRecord(Content):
    """Everything the register keeps of one person's mastery in the period."""

    name: str
    job_roles: str
    spans: list[SpanRow]
    observations: list[ObservationRow]
    sign_offs: list[SignOffRow]
    checks: list[str]


@dataclass(frozen=True)
class Attendee(Content):
    """Somebody taught, with the job title held that day."""

    name: str
    job_title: str


@dataclass(frozen=True)
class Session(Content):
    """One taught session."""

    day: str
    topics: str
    summary: str
    trainer: str
    qualification: str
    live_questions: bool
    language: str
    attendees: list[Attendee]


@dataclass(frozen=True)
class Step(Content):
    """One line of a procedure; `when` and `caution` may be empty."""

    words: str
    critical: bool
    caution: str
    when: str


@dataclass(frozen=True)
class ProcedureText(Content):
    """A version in force, in full."""

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


@dataclass(frozen=True)
class AuthorityRow(Content):
    """Who may observe and sign what, from when to when, and how that starts."""

    name: str
    covers: str
    since: str
    until: str
    granted_by: str
    rests_on: str


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


@dataclass(frozen=True)
class FindingRow(Content):
    """One finding. Weight: stop, fix or note."""

    weight: str
    says: str
    since: str
    done: str


@dataclass(frozen=True)
class Extra(Content):
    """A table another part of the practice adds: water, spore tests, torque drivers, tools, events without names."""

    title: str
    says: str
    columns: list[str]
    rows: list[list[str]]


@dataclass(frozen=True)
class BinderContent(Content):
    """A binder for a site, a period and an as-of day."""

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
