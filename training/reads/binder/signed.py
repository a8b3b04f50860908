"""What was signed for each person of a binder: sign-offs, withdrawals, founding grants and carried-over records."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from clinic.models import Person
from clinic.rules.words import day_words, listed, short_day
from training.documents.binder import content as b
from training.models import CarriedOver, FoundingGrant, SignOff, StandingSpan, Version, Withdrawal
from training.reads.binder.asked import BinderAsked, By, in_period, iso
from training.reads.standing import OF_SPAN, plain_span
from training.rules import standing as rules
from training.rules.elements import NAMES
from training.rules.sentence import lasts
from training.rules.wording import NO_NAMES, codes_in_runs
from training.waiting import PreparedSpans


def signed_of(asked: BinderAsked, people: Sequence[Person]) -> By:
    """Sign-offs, withdrawals, founding grants and carried-over records, by day."""
    found: By = defaultdict(list)
    numbers = version_numbers(asked)
    for person, _, row in sorted(all_signed(asked, people, numbers), key=lambda each: each[1]):
        found[person].append(row)
    return found


def version_numbers(asked: BinderAsked) -> dict[str, list[tuple[date, int]]]:
    found: dict[str, list[tuple[date, int]]] = defaultdict(list)
    rows = Version.objects.live().filter(procedure__organisation=asked.site.organisation).order_by("number")
    for code, first, number in rows.values_list("procedure__code", "in_force_from", "number"):
        found[code].append((first, number))
    return found


def in_force(numbers: dict[str, list[tuple[date, int]]], code: str, day: date) -> int:
    return max((number for first, number in numbers.get(code, ()) if first <= day), default=1)


def all_signed(asked: BinderAsked, people: Sequence[Person], numbers: Any) -> Iterable[tuple[Any, date, b.SignOffRow]]:
    good = good_days(people)
    signed = in_period(asked, SignOff.objects, people)
    for row in asked.at_hand.rows(signed, "version__procedure", "signer", without=("evidence", "statement")):
        yield row.person_id, row.happened_on, sign_off_row(asked, row, good)
    for gone in asked.at_hand.rows(in_period(asked, Withdrawal.objects, people), "procedure", "recorded_by"):
        yield gone.person_id, gone.happened_on, withdrawal_row(asked, gone, numbers)
    yield from from_before(asked, people, numbers, good)


GOOD = PreparedSpans(
    lambda people: (
        StandingSpan.objects.usable().filter(person__in=people).order_by("first").values_list("cause", *OF_SPAN)
    )
)


def good_days(people: Sequence[Person]) -> dict[str, rules.StandingSpan]:
    """The last good stretch that each signature or paper brought, by its id; one query."""
    rows = GOOD.rows(people=[person.pk for person in people])
    return {cause: plain_span(*row) for cause, *row in rows}


def good_through(fact: Any, signed: date | None, good: Mapping[str, rules.StandingSpan]) -> tuple[str, str]:
    """The last good day of what was signed through a day (None: no end by the calendar), whatever ended it; and what ended
    it earlier than was signed. A day it never had is said in words."""
    span = good.get(str(fact))
    if span is None:
        return "", "Never good: it was ended or on hold from its first day."
    if span.ends_on is None or (signed and span.ends_on >= signed):
        return iso(signed), ""
    was = f"Signed through {day_words(signed)}. " if signed else ""
    return iso(span.ends_on), f"{was}Good {lasts(span, NO_NAMES)}."


def sign_off_row(asked: BinderAsked, row: SignOff, good: Mapping[str, rules.StandingSpan]) -> b.SignOffRow:
    asked.facts.add(str(row.pk))
    code, elements = row.version.procedure.code, elements_words(row.elements)
    through, ended = good_through(row.pk, row.valid_until, good)
    return b.SignOffRow(
        code, row.version.number, "sign-off", row.signer.named_then(row.signer_name), happened(row), row.meaning, through, elements,
        fact=str(row.pk), written=asked.written(row), ended=ended,
    )  # fmt: skip


def withdrawal_row(asked: BinderAsked, row: Withdrawal, numbers: Any) -> b.SignOffRow:
    """What was withdrawn on a day was good through the day before."""
    asked.facts.add(str(row.pk))
    number = in_force(numbers, row.procedure.code, row.happened_on)
    by = row.recorded_by.named_then(row.signer_name) if row.recorded_by else row.signer_name
    return b.SignOffRow(
        row.procedure.code, number, "withdrawal", by, happened(row), f"Withdrawn: {row.reason}",
        iso(row.happened_on - timedelta(days=1)), fact=str(row.pk), written=asked.written(row),
    )  # fmt: skip


def happened(row: Any) -> str:
    """The day and time it was done, site time; the day alone where no time was noted."""
    return f"{row.happened_on.isoformat()}T{row.happened_at:%H:%M}" if row.happened_at else row.happened_on.isoformat()


def from_before(
    asked: BinderAsked, people: Sequence[Person], numbers: Any, good: Mapping[str, rules.StandingSpan]
) -> Iterable[tuple[Any, date, b.SignOffRow]]:
    """What started the chain: founding grants, and records carried over, whenever they were made."""
    early = {"person__in": people, "happened_on__lte": asked.last}
    for row in asked.at_hand.rows(FoundingGrant.objects.live().in_order().filter(**early), "recorded_by"):
        asked.facts.add(str(row.pk))
        yield row.person_id, row.happened_on, founding_row(asked, row)
    for paper in asked.at_hand.rows(CarriedOver.objects.live().in_order().filter(**early), "procedure", "recorded_by"):
        asked.facts.add(str(paper.pk))
        number = in_force(numbers, paper.procedure.code, paper.happened_on)
        yield paper.person_id, paper.happened_on, carried_row(asked, paper, number, good)


def founding_row(asked: BinderAsked, row: FoundingGrant) -> b.SignOffRow:
    """It stands for several procedures, each of which may end earlier: their own lines say so."""
    by, codes = str(row.recorded_by or "the register"), codes_in_runs(row.procedures)
    meaning = f"{row.get_rests_on_display()}: {row.detail}"
    return b.SignOffRow(
        codes, 0, "founding grant", by, iso(row.happened_on), meaning, iso(row.to_day), basis="founding",
        fact=str(row.pk), written=asked.written(row),
    )  # fmt: skip


def entered_by(paper: CarriedOver) -> str:
    """Nobody signed it here: somebody entered what a paper says."""
    return f"from paper, entered by {paper.recorded_by or 'the register'}"


def carried_row(
    asked: BinderAsked, paper: CarriedOver, number: int, good: Mapping[str, rules.StandingSpan]
) -> b.SignOffRow:
    code, at = paper.procedure.code, iso(paper.happened_on)
    meaning = f"Mastered {short_day(paper.original_day)}. The paper names {paper.by_whom}, and is kept at: {paper.paper_place}"
    through, ended = good_through(paper.pk, paper.valid_until, good)
    return b.SignOffRow(
        code, number, "carried over", entered_by(paper), at, meaning, through, basis="carried over",
        fact=str(paper.pk), written=asked.written(paper), ended=ended,
    )  # fmt: skip


def elements_words(covered: dict[str, str]) -> str:
    """1, 4 and 6 (K-01, K-06): the numbers of those that were covered."""
    there = [str(number) for number in range(1, len(NAMES) + 1) if covered.get(str(number))]
    return listed(there) or "none"
