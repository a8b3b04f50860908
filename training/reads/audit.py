"""What the audit page shows: findings by weight, whether the record can be trusted, what was tried at the signing desk."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from urllib.parse import quote, urlencode

from django.core.paginator import Page
from django.db.models import Count, Max

from clinic import clock
from clinic.models import Safeguard, Seal, SigningAttempt, Site
from clinic.models.people import name_columns, name_in
from clinic.rules.findings import Weight
from clinic.rules.ids import is_id
from clinic.rules.words import begun, number_words, several
from training.models import InspectorPass, StandingSpan
from training.reads.findings.records import last_check
from training.reads.findings.stored import FindingsShown, findings_shown
from training.reads.kept import KeptPaper, papers_kept
from training.reads.safeguards import last_safeguards
from training.rules.findings_closed import ORDER, Weighed
from training.rules.findings_records import SealCheck
from training.rules.reviews import review_is_late

ATTEMPT_DAYS = 30

HEADS = {
    Weight.STOP: ("Stop: work must not go on", "Nothing has to stop."),
    Weight.FIX: ("Fix: by a day", "Nothing has to be fixed."),
    Weight.NOTE: ("Note: past, and only to be explained", "Nothing waits for an explanation."),
}


@dataclass(frozen=True, slots=True)
class FindingsOfWeight:
    """The findings of one weight on a page: those that are open, of so many in all, and those that words have closed."""

    weight: Weight
    title: str
    empty: str
    total: int
    open: Sequence[Weighed]
    closed: Sequence[Weighed]

    @property
    def first(self) -> Sequence[Weighed]:
        """Shown at once; of what is past and only to be explained one fewer, so that the page stays short."""
        return self.open[: 3 - (self.weight is Weight.NOTE)]

    @property
    def others(self) -> Sequence[Weighed]:
        return self.open[len(self.first) :]

    @property
    def chosen(self) -> str:
        """What the address of the page that explains says, where all the open ones shown are explained at once."""
        return urlencode([("finding", one.finding.key) for one in self.open], quote_via=quote)


@dataclass(frozen=True, slots=True)
class Failures:
    """Failed tries to prove who is signing (E-27), by account."""

    person: str
    count: int
    last: Any


@dataclass(frozen=True, slots=True)
class AuditPage:
    day: date
    parts: Sequence[FindingsOfWeight]
    weights: Mapping[str, int]
    place: Page  # type: ignore[type-arg]
    facts: int
    check: SealCheck
    spans: int
    failures: Sequence[Failures]
    elsewhere: Sequence[KeptPaper]
    late_reviews: Sequence[KeptPaper]
    passes: Sequence[InspectorPass]
    safeguards: Sequence[tuple[str, Safeguard | None]]
    sealed: frozenset[str]  # evidence that is a fact of this site, and so has a page

    @property
    def first_sentence(self) -> str:
        stop, fix, note = (self.weights[weight.value] for weight in ORDER)
        if not stop + fix + note:
            return "Nothing that the register knows of is open."
        said = [
            f"{several(stop, 'thing')} must stop" if stop else "nothing must stop",
            f"{none_or(fix)} to be fixed",
            f"{none_or(note)} to be explained",
        ]
        return begun(f"{', '.join(said)}.")

    @property
    def then(self) -> str:
        kept = f"{several(len(self.elsewhere), 'paper is', 'papers are')} kept elsewhere"
        late = len(self.late_reviews)
        return begun(f"{kept}{f', {number_words(late)} past a yearly review' if late else ''}.")


def none_or(number: int) -> str:
    """ "none is", "one is", "two are"."""
    return "none is" if number == 0 else several(number, "is", "are")


def audit_page(site: Site, day: date, number: Any = 1) -> AuditPage:
    """A fixed number of queries for any number of rows. `number`: which page of the findings."""
    found, elsewhere = findings_shown(site, day, number), papers_kept(site, day)
    evidence = {fact for one in (*found.open, *found.closed) for fact in one.finding.evidence if is_id(fact)}
    last = last_safeguards(site, day)
    passes = (
        InspectorPass.objects.good_on(day)
        .filter(issue__site=site)
        .select_related("person", "issue")
        .defer("issue__frozen")
    )
    return AuditPage(
        day=day,
        parts=[part(weight, found) for weight in ORDER],
        weights=found.weights,
        place=found.page,
        facts=site.last_position,
        check=last_check(site),
        spans=StandingSpan.stored.filter(person__home_site=site).count(),
        failures=failures(site),
        elsewhere=elsewhere,
        late_reviews=[paper for paper in elsewhere if review_is_late(paper.reviewed, day)],
        passes=list(passes),
        safeguards=[(kind.label, last.get(kind.value)) for kind in Safeguard.Kind],
        sealed=frozenset(
            str(pk) for pk in Seal.objects.filter(site=site, fact__in=evidence).values_list("fact", flat=True)
        ),
    )


def part(weight: Weight, found: FindingsShown) -> FindingsOfWeight:
    mine, closed = ([one for one in rows if one.finding.weight is weight] for rows in (found.open, found.closed))
    return FindingsOfWeight(weight, *HEADS[weight], found.weights[weight.value], mine, closed)


def failures(site: Site) -> list[Failures]:
    since = clock.now() - timedelta(days=ATTEMPT_DAYS)
    rows = SigningAttempt.objects.filter(site=site, succeeded=False, at__gte=since)
    by_account = rows.values("account__person", *name_columns("account__person")).annotate(
        n=Count("pk"), last=Max("at")
    )
    return [
        Failures(name_in(row, "account__person"), row["n"], row["last"]) for row in by_account.order_by("-n", "-last")
    ]
