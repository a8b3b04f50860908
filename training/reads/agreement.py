"""Performances that two supervisors marked without each other's marks, and what the two markings say."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import combinations

from django.db.models import QuerySet

from clinic.models import Person, Site
from clinic.rules.words import counted
from training.models import IndependentMarking, Observation
from training.permissions import procedures_of
from training.rules.agreement import Agreement, Leniency, Scored, Weighting, agreement, leniency, table_of
from training.rules.facts import Mark
from training.rules.learning import PEOPLE_ENOUGH, may_judge

WITHIN = timedelta(days=1)
"""A second marking is of today or yesterday."""
ORDERED = (Mark.WRONG, Mark.HELPED, Mark.PROMPTED, Mark.ALONE)
"""Marks that say how a step went, the better the later. "Asked" counts as alone, as it does in an outcome."""
SCORES = {mark: score for score, mark in enumerate(ORDERED)} | {Mark.ASKED: ORDERED.index(Mark.ALONE)}


@dataclass(frozen=True, slots=True)
class SupervisorPair:
    """Two supervisors over the steps that both saw. `table`: rows the first one's marks, columns the second's."""

    first: str
    second: str
    performances: int
    table: list[list[int]]
    quiet: bool
    plain: Agreement
    weighted: Agreement

    @property
    def lines(self) -> list[tuple[Mark, list[int]]]:
        return list(zip(ORDERED, self.table, strict=True))


@dataclass(frozen=True, slots=True)
class AgreementPage:
    """`off` says why nothing is shown; empty where the site has enough people."""

    off: str
    performances: int
    pairs: Sequence[SupervisorPair]
    leaning: Sequence[Leniency]
    marks: tuple[Mark, ...] = ORDERED


def agreement_page(site: Site, today: date) -> AgreementPage:
    """Every pair who marked the same performances here. A fixed number of queries."""
    people = Person.objects.at_site(site, today).count()
    scores = scored(site, today)
    watched = {mark.performance for mark in scores}
    if people < PEOPLE_ENOUGH:
        off = f"With {counted(people, 'person', 'people')} at work here it would be about single people. It is off below {PEOPLE_ENOUGH}."
        return AgreementPage(off, len(watched), (), ())
    return AgreementPage("", len(watched), pairs_of(scores, people), leniency(scores))


def scored(site: Site, today: date) -> list[Scored]:
    """Both supervisors' marks of every performance that was marked twice."""
    standing = Observation.objects.live().filter(site=site, happened_on__lte=today)
    rows = IndependentMarking.objects.live().filter(observation__in=standing, site=site)
    found: list[Scored] = []
    for row in rows.select_related("marker", "observation__observer", "observation__person").in_order():
        first = row.observation
        performance = str(first.pk)
        if first.observer:
            found += scores_of(performance, first.observer.printed_name, first.marks)
        found += scores_of(performance, row.marker.printed_name, row.marks)
    return list(dict.fromkeys(found))  # a performance marked three times holds the first marks once


def scores_of(performance: str, supervisor: str, marks: Sequence[dict[str, str]]) -> list[Scored]:
    """One supervisor's marks of the steps that were seen."""
    return [
        Scored(performance, row["step"], supervisor, SCORES[Mark(row["mark"])])
        for row in marks
        if Mark(row["mark"]) in SCORES
    ]


def pairs_of(scores: Sequence[Scored], people: int) -> list[SupervisorPair]:
    by_step: dict[tuple[str, str], dict[str, int]] = defaultdict(dict)
    for mark in scores:
        by_step[mark.performance, mark.step][mark.supervisor] = mark.score
    together: dict[tuple[str, str], list[tuple[str, str, str]]] = defaultdict(list)
    for (performance, _), given in by_step.items():
        for one, other in combinations(sorted(given), 2):
            together[one, other].append((performance, ORDERED[given[one]], ORDERED[given[other]]))
    return [pair(*names, rows, people) for names, rows in sorted(together.items())]


def pair(first: str, second: str, rows: Sequence[tuple[str, str, str]], people: int) -> SupervisorPair:
    performances = len({performance for performance, _, _ in rows})
    table = table_of([(one, other) for _, one, other in rows], ORDERED)
    quiet = not may_judge(people, performances)
    return SupervisorPair(
        first, second, performances, table, quiet, agreement(table), agreement(table, Weighting.QUADRATIC)
    )


def to_mark_too(person: Person, site: Site, today: date) -> "QuerySet[Observation]":
    """What a colleague watched so lately that the person may mark it too, if it was watched together."""
    mine = IndependentMarking.objects.live().filter(marker=person).values("observation")
    rows = Observation.objects.live().filter(
        site=site, happened_on__gte=today - WITHIN, observer__isnull=False,
        version__procedure__code__in=procedures_of(person, site, today),
    )  # fmt: skip
    rows = rows.exclude(observer=person).exclude(recorded_by=person).exclude(person=person).exclude(pk__in=mine)
    return rows.select_related("person", "observer", "version__procedure").order_by("-finished_at", "pk")
