"""What was signed for each person of a binder: sign-offs, withdrawals, founding grants and carried-over records."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from clinic.models import Person
from training.documents.binder import content as b
from training.models import CarriedOver, FoundingGrant, SignOff, Version, Withdrawal
from training.reads.binder_asked import Asked, By, in_period, iso
from training.rules.elements import NAMES
from training.rules.wording import codes_in_runs, listed


def signed_of(asked: Asked, people: Sequence[Person]) -> By:
    """Sign-offs, withdrawals, founding grants and carried-over records, by day."""
    found: By = defaultdict(list)
    numbers = version_numbers(asked)
    for person, _, row in sorted(all_signed(asked, people, numbers), key=lambda each: each[1]):
        found[person].append(row)
    return found


def version_numbers(asked: Asked) -> dict[str, list[tuple[date, int]]]:
    found: dict[str, list[tuple[date, int]]] = defaultdict(list)
    rows = Version.objects.live().filter(procedure__organisation=asked.site.organisation).order_by("number")
    for code, first, number in rows.values_list("procedure__code", "in_force_from", "number"):
        found[code].append((first, number))
    return found


def in_force(numbers: dict[str, list[tuple[date, int]]], code: str, day: date) -> int:
    return max((number for first, number in numbers.get(code, ()) if first <= day), default=1)


def all_signed(asked: Asked, people: Sequence[Person], numbers: Any) -> Iterable[tuple[Any, date, b.SignOffRow]]:
    for row in in_period(asked, SignOff.objects, people).select_related("version__procedure"):
        yield row.person_id, row.happened_on, sign_off_row(asked, row)
    for row in in_period(asked, Withdrawal.objects, people).select_related("procedure"):
        yield row.person_id, row.happened_on, withdrawal_row(asked, row, numbers)
    yield from from_before(asked, people, numbers)


def sign_off_row(asked: Asked, row: SignOff) -> b.SignOffRow:
    asked.facts.add(str(row.pk))
    code, at, elements = row.version.procedure.code, asked.local(row.recorded_at), elements_words(row.elements)
    through = iso(row.valid_until)
    return b.SignOffRow(
        code, row.version.number, "sign-off", row.signer_name, at, row.meaning, through, elements, fact=str(row.pk)
    )


def withdrawal_row(asked: Asked, row: Withdrawal, numbers: Any) -> b.SignOffRow:
    asked.facts.add(str(row.pk))
    code, at = row.procedure.code, asked.local(row.recorded_at)
    number, why = in_force(numbers, code, row.happened_on), f"Withdrawn: {row.reason}"
    return b.SignOffRow(code, number, "withdrawal", row.signer_name, at, why, iso(row.happened_on), fact=str(row.pk))


def from_before(asked: Asked, people: Sequence[Person], numbers: Any) -> Iterable[tuple[Any, date, b.SignOffRow]]:
    """What started the chain: founding grants, and records carried over, whenever they were made."""
    early = {"person__in": people, "happened_on__lte": asked.last}
    for row in FoundingGrant.objects.live().filter(**early).select_related("recorded_by"):
        asked.facts.add(str(row.pk))
        yield row.person_id, row.happened_on, founding_row(row)
    for paper in CarriedOver.objects.live().filter(**early).select_related("procedure"):
        asked.facts.add(str(paper.pk))
        number = in_force(numbers, paper.procedure.code, paper.happened_on)
        yield paper.person_id, paper.happened_on, carried_row(paper, number)


def founding_row(row: FoundingGrant) -> b.SignOffRow:
    by, codes = str(row.recorded_by or "the register"), codes_in_runs(row.procedures)
    meaning = f"{row.get_rests_on_display()}: {row.detail}"
    return b.SignOffRow(
        codes,
        0,
        "founding grant",
        by,
        iso(row.happened_on),
        meaning,
        iso(row.to_day),
        basis="founding",
        fact=str(row.pk),
    )


def carried_row(paper: CarriedOver, number: int) -> b.SignOffRow:
    code, at = paper.procedure.code, iso(paper.happened_on)
    meaning = f"Mastered {paper.original_day:%-d %b %Y}; the paper: {paper.paper_place}"
    return b.SignOffRow(
        code, number, "carried over", paper.by_whom, at, meaning, iso(paper.valid_until), basis="carried over",
        fact=str(paper.pk),
    )  # fmt: skip


def elements_words(covered: dict[str, str]) -> str:
    """1, 4 and 6 (K-01, K-06): the numbers of those that were covered."""
    there = [str(number) for number in range(1, len(NAMES) + 1) if covered.get(str(number))]
    return listed(there) or "none"
