"""What each standing rests on, counted; what was taught to whom; and what was put right, for a binder."""

from collections import defaultdict
from collections.abc import Container, Iterable, Sequence
from datetime import date
from typing import Any, NamedTuple
from uuid import UUID

from clinic.models import Person, Voiding
from clinic.prepared import Prepared
from clinic.rules.words import short_day
from training.documents.binder import content as b
from training.models import (
    Attendance,
    CarriedOver,
    EvidenceSpan,
    KnowledgeResult,
    Observation,
    SignOff,
    TaughtSession,
    Version,
    Withdrawal,
)
from training.reads.binder.asked import BinderAsked, By
from training.rules.facts import FromPaper

ABOUT_PEOPLE = (Observation, SignOff, Withdrawal, KnowledgeResult, CarriedOver)


COUNTED = (
    "person", "version__procedure", "pk", "version", "happened_on", "outcome", "sheet", "observer", "witness",
)  # fmt: skip


class Counted(NamedTuple):
    """What is counted of an assessment."""

    key: UUID
    version: int
    day: date
    outcome: str
    sheet: Any
    observer: Any
    witness: Any


ASSESSED = Prepared(
    lambda people, last: (
        Observation.objects.live()
        .filter(person__in=people, purpose="assessment", happened_on__lte=last[0])
        .order_by("version__procedure__code", "happened_on")
        .values_list(*COUNTED)
    )
)


def evidence_of(asked: BinderAsked, people: Sequence[Person], aside: Container[str]) -> By:
    """Every procedure in which somebody was assessed by the day: how many met of how many, on how many days, by how many."""
    seen: dict[Any, list[Counted]] = defaultdict(list)
    for who, what, *row in ASSESSED.rows(people=[person.pk for person in people], last=[asked.as_of]):
        seen[who, what].append(Counted(*row))
    versions = asked.at_hand.keyed(Version, {row.version for rows in seen.values() for row in rows[-1:]}, "procedure")
    results = KnowledgeResult.objects.live().filter(person__in=people, happened_on__lte=asked.as_of)
    passed = set(results.filter(passed=True).values_list("person", "version__procedure"))
    spans = EvidenceSpan.objects.on(asked.as_of).filter(person__in=people)
    words = {(who, what): said for who, what, said in spans.values_list("person", "procedure", "evidence")}
    found: By = defaultdict(list)
    for (who, what), mine in seen.items():
        check = "passed" if (who, what) in passed else "not passed"
        of = versions[mine[-1].version]
        found[who].append(evidence_row(of, mine, aside, check, words.get((who, what), "none")))
    return found


def evidence_row(
    of: Version, rows: Sequence[Counted], aside: Container[str], check: str, evidence: str
) -> b.EvidenceRow:
    """`of`: the version that was watched last. `aside`: ids of assessments that do not count because of who watched them. From
    paper, the policy says what counts."""
    paper = of.asks.from_paper is not FromPaper.NEVER
    met = [row for row in rows if row.outcome == "met" and str(row.key) not in aside and (paper or not row.sheet)]
    return b.EvidenceRow(
        procedure=of.procedure.code,
        version=of.number,
        met=len(met),
        of=len(rows),
        days=len({row.day for row in met}),
        watchers=len({row.observer or row.witness for row in met}),
        check=check,
        evidence=evidence,
    )


def taught_to(asked: BinderAsked, people: Sequence[Person]) -> By:
    found: By = defaultdict(list)
    days = {"session__happened_on__range": (asked.first, asked.last)}
    rows = Attendance.objects.filter(
        person__in=people, session__in=TaughtSession.objects.live(), **days
    ).select_related("session")
    for row in rows.prefetch_related("session__topics__version__procedure").order_by("session__happened_on", "pk"):
        topics = ", ".join(sorted(str(topic.version.procedure) for topic in row.session.topics.all()))
        by = row.session.trainer_name or "nobody named"
        found[row.person_id].append(
            f"{short_day(row.session.happened_on)}: {topics}, by {by}, as {row.job_title or 'no title noted'}."
        )
    return found


def corrections_of(asked: BinderAsked, people: Sequence[Person]) -> By:
    """Every fact of the period that put right, or took away, one about these people. Eleven queries."""
    voided = {row.corrects: row for row in Voiding.objects.filter(happened_on__range=(asked.first, asked.last))}
    found: By = defaultdict(list)
    for person, day, fact, line in sorted(put_right(asked, people, voided), key=lambda each: each[1]):
        asked.facts.add(fact)
        found[person].append(f"{short_day(day)}: {line}")
    return found


def put_right(
    asked: BinderAsked, people: Sequence[Person], voided: dict[Any, Voiding]
) -> Iterable[tuple[Any, Any, str, str]]:
    for model in ABOUT_PEOPLE:
        name = str(model._meta.verbose_name)
        mine = model.objects.filter(person__in=people)
        for row in mine.filter(corrects__isnull=False, happened_on__range=(asked.first, asked.last)):
            yield (
                row.person_id,
                row.happened_on,
                str(row.pk),
                f"{name} recorded in place of an earlier one. {row.reason}",
            )
        for row in mine.filter(pk__in=voided):
            later = voided[row.pk]
            line = f"{name} of {short_day(row.happened_on)} taken back. {later.reason}"
            yield row.person_id, later.happened_on, str(later.pk), line
