"""Everything that is recorded about one person's training, in full, to be taken away: row O-07 of the handbook.

Of a session it says what its record has to say (O-05) and nobody else's attendance. A fixed number of queries.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from clinic.facts import fact_models
from clinic.models import Appointment, Person, RoleHeld, Seal, Site
from clinic.models.records import plain
from training.models import (
    Authority,
    CarriedOver,
    FoundingGrant,
    Issue,
    KnowledgeResult,
    Observation,
    SignOff,
    TaughtSession,
    Version,
    Withdrawal,
)
from training.reads.person import TimelineLine, lines_of
from training.reads.person_facts import FactLine, facts_of
from training.reads.plan import training_of

DETAILS: dict[type[Any], tuple[str, ...]] = {
    Authority: ("procedures", "areas", "to_day", "counts_because"),
    CarriedOver: ("original_day", "by_whom", "paper_place", "valid_until"),
    FoundingGrant: ("procedures", "areas", "to_day", "rests_on", "detail"),
    Issue: ("number",),
    KnowledgeResult: ("passed", "asked", "answers", "language"),
    Observation: (
        "purpose", "method", "outcome", "critical_miss", "stopped", "stop_reason", "started_at", "finished_at", "language",
        "notes", "own_word", "own_words", "marks",
    ),
    SignOff: ("signer_name", "meaning", "statement", "valid_until", "lowered", "reidentified"),
    TaughtSession: (
        "days", "summary", "trainer_name", "trainer_qualification", "live_questions", "demonstrated", "language", "handed_out",
        "demonstration", "extra",
    ),
    Withdrawal: ("signer_name", "reason"),
}  # fmt: skip
"""The columns of each kind that are told in full."""


@dataclass(frozen=True, slots=True)
class RecordLine:
    """One fact in full, with the seal by which its place in the log is proved."""

    line: FactLine
    site: str
    kind: str
    details: Mapping[str, Any]
    seal: str


@dataclass(frozen=True, slots=True)
class OwnRecord:
    """`roles`: every job role and post ever held, as from, to (None: still), what and where."""

    person: Person
    day: date
    roles: Sequence[tuple[date, date | None, str, str]]
    standings: Sequence[TimelineLine]
    facts: Sequence[RecordLine]

    @property
    def roles_now(self) -> list[str]:
        return [
            f"{what}, {where}" for first, last, what, where in self.roles if first <= self.day <= (last or self.day)
        ]


def own_record(person: Person, day: date) -> OwnRecord:
    lines = facts_of(person)
    seals = {row.fact: row for row in Seal.objects.filter(fact__in=[line.id for line in lines])}
    details = details_of(seals.values())
    sites = dict(Site.objects.filter(organisation=person.organisation_id).values_list("pk", "name"))
    facts = [
        RecordLine(line, sites[seal.site_id], kind_of(seal), details.get(line.id, {}), seal.digest)
        for line in lines
        if (seal := seals.get(line.id))
    ]
    return OwnRecord(person, day, roles_of(person), lines_of(training_of(person, day)), facts)


def kind_of(seal: Seal) -> str:
    return str(fact_models()[seal.kind]._meta.verbose_name)


def roles_of(person: Person) -> list[tuple[date, date | None, str, str]]:
    held = RoleHeld.objects.filter(person=person).select_related("job_role", "site")
    posts = Appointment.objects.filter(person=person).select_related("site")
    found = [(row.from_day, row.to_day, row.job_role.title, str(row.site)) for row in held]
    found += [(row.from_day, row.to_day, row.get_post_display(), str(row.site or "every site")) for row in posts]
    return sorted(found, key=lambda row: (row[0], row[2]))


def details_of(seals: Iterable[Seal]) -> dict[UUID, dict[str, Any]]:
    """One query for each kind there is, and one for the texts that were marked."""
    by_kind: dict[str, list[UUID]] = defaultdict(list)
    for seal in seals:
        by_kind[seal.kind].append(seal.fact)
    found: dict[UUID, dict[str, Any]] = {}
    for model, names in DETAILS.items():
        if ids := by_kind.get(model.fact_kind()):
            more = ("version",) if model is Observation else ()
            found |= {row.pop("id"): row for row in model.objects.filter(pk__in=ids).values("id", *names, *more)}
    return with_words(found)


def with_words(found: dict[UUID, dict[str, Any]]) -> dict[UUID, dict[str, Any]]:
    """Marks with the words of their steps, every value as plain data, and what was left empty left out."""
    versions = Version.objects.in_bulk({row["version"] for row in found.values() if "version" in row})
    for row in found.values():
        if "version" in row:
            version = versions[row.pop("version")]
            steps = {step.key: step.do for step in version.text.steps}
            row["version"] = version.number
            row["marks"] = [{"step": steps.get(each["step"], ""), "mark": each["mark"]} for each in row["marks"]]
    return {
        pk: {name: plain(value) for name, value in row.items() if value not in ("", None, [])}
        for pk, row in found.items()
    }
