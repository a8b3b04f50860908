"""The six elements of competence assessment and their timing, against the published rule.

K-01: 42 CFR 493.1413(b)(8)(i)–(vi): six elements (V: text and deficiency statements; numbering M). K-02: 493.1413(b)(9): at
least twice in the first year, then at least yearly (V). K-06: our own mapping to milling (D). K-05: that rule is for
clinical laboratories and does not apply to milling (D).
"""

from datetime import UTC, date, datetime

import pytest

from clinic.rules.days import plus_months
from tests.published.vectors import VECTORS
from training.rules.elements import NAMES, elements
from training.rules.facts import Method, Observed, Outcome, PersonFacts, Policy, ProcedureFacts, Signed, VersionFact
from training.rules.standing import timelines


def watched(method: Method, outcome: Outcome = Outcome.MET) -> Observed:
    at = datetime(2026, 1, 15, 9, tzinfo=UTC)
    return Observed(
        id=str(method), day=at.date(), recorded_at=at, version=1, assessment=True, method=method, outcome=outcome
    )


def covered(*met: Observed, upkeep: bool = True, entries: int = 0, asked: int = 0, check: bool = False) -> list[int]:
    found = elements(met, covers_upkeep=upkeep, entries_checked=entries, asked_steps=asked, check_passed=check)
    return [each.number for each in found if each.how]


def test_there_are_six_named_boxes() -> None:
    assert len(NAMES) == 6
    assert [each.number for each in elements([], covers_upkeep=False, entries_checked=0, asked_steps=0, check_passed=False)] == [
        1, 2, 3, 4, 5, 6,
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("met", "more", "boxes"),
    [
        ([], {}, []),
        ([watched(Method.REAL)], {}, [1, 4]),
        ([watched(Method.REAL)], {"upkeep": False}, [1]),
        ([watched(Method.PRACTICE)], {}, [1, 5]),
        ([watched(Method.RECORDS)], {}, [3]),
        ([watched(Method.TALK)], {}, [6]),
        ([watched(Method.DRILL)], {}, [6]),
        ([], {"entries": 2}, [2]),
        ([], {"asked": 1}, [6]),
        ([], {"check": True}, [6]),
        ([watched(Method.REAL, Outcome.NOT_MET)], {}, []),
    ],
)
def test_each_box_is_covered_by_its_own_kind_of_evidence(
    met: list[Observed], more: dict[str, int], boxes: list[int]
) -> None:
    assert covered(*met, **more) == boxes


def test_all_six_can_be_covered() -> None:
    met = [watched(method) for method in (Method.REAL, Method.PRACTICE, Method.RECORDS, Method.TALK)]
    assert covered(*met, entries=1) == [1, 2, 3, 4, 5, 6]


def test_two_in_the_first_year_then_yearly() -> None:
    """Vector clia_like: start 2026-01-15 → 2026-07-15, 2027-01-15, 2028-01-15, renewed on each last day."""
    start, days = VECTORS["dates"]["clia_like"]
    policy = Policy(needed=0, check_asked=False, renewal_needed=0, first_year_months=6, renewal_months=12)
    version = VersionFact("P", 1, date(2026, 1, 1), datetime(2026, 1, 1, tzinfo=UTC), policy)
    signed = [date.fromisoformat(day) for day in (start, *days[:-1])]
    facts = tuple(
        Signed(id=f"s{day}", day=day, recorded_at=datetime(day.year, day.month, day.day, 9, tzinfo=UTC), version=1)
        for day in signed
    )
    standing = timelines({"P": ProcedureFacts("P", (version,))}, PersonFacts("x", {"P": facts}))["P"]
    assert [life.valid_until.isoformat() for life in standing.signoffs if life.valid_until] == days


def test_months_are_clamped_to_the_months_end() -> None:
    assert plus_months(date(2028, 2, 29), 12) == date(2029, 2, 28)
