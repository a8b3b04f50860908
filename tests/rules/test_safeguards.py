"""Copies of the register: late, failed, or in order. The days are our own choice; common practice, no source."""

from datetime import date, timedelta

import pytest

from clinic.rules.findings import Finding, Weight, on_day
from training.rules.findings_safeguards import DrillDone, safeguards_late

START = date(2026, 1, 5)
TODAY = date(2026, 6, 1)
GOOD = {"backup": DrillDone("b", TODAY, True), "restore drill": DrillDone("d", TODAY, True)}


def late_on(day: date, **last: DrillDone) -> list[Finding]:
    """The last of each kind alone decides a day; here there was only one."""
    return on_day(safeguards_late({kind.replace("_", " "): [one] for kind, one in last.items()}, START), day)


def said(**changed: DrillDone) -> list[str]:
    names = {"backup": "backup", "drill": "restore drill"}
    return [one.sentence for one in late_on(TODAY, **GOOD | {names[k]: v for k, v in changed.items()})]


def ago(days: int, good: bool = True) -> DrillDone:
    return DrillDone("k", TODAY - timedelta(days=days), good)


def test_good_ones_of_today_are_no_finding() -> None:
    assert late_on(TODAY, **GOOD) == []


@pytest.mark.parametrize(("kind", "days"), [("backup", 7), ("drill", 92)])
def test_it_is_late_on_the_day_after_its_last_good_day(kind: str, days: int) -> None:
    assert said(**{kind: ago(days)}) == [] and len(said(**{kind: ago(days + 1)})) == 1


def test_a_late_one_names_the_last() -> None:
    assert said(backup=ago(8)) == ["The last backup was on 24 May 2026."]


def test_a_failed_one_is_a_finding_at_once() -> None:
    [one] = late_on(TODAY, **GOOD | {"restore drill": ago(0, good=False)})
    assert one.sentence == "The restore drill of 1 June 2026 failed."
    assert (one.weight, one.evidence, one.since) == (Weight.FIX, ("k",), TODAY)
    assert one.ends_when == "A restore drill whose seals are all whole ends it."


def test_a_new_register_has_a_week_for_its_first_backup() -> None:
    first = [late_on(START + timedelta(days=days)) for days in (7, 8, 93)]
    assert [len(each) for each in first] == [0, 1, 2]
    assert first[1][0].sentence == "No backup was ever recorded." and first[1][0].evidence == ()


def test_each_lateness_has_a_key_of_its_own() -> None:
    keys = {one.key for last in (8, 9) for one in late_on(TODAY, **GOOD | {"backup": ago(last)})}
    assert len(keys) == 2


def test_a_late_and_a_failed_one_in_full() -> None:
    late, failed = late_on(TODAY, **{"backup": ago(9), "restore drill": ago(1, good=False)})
    assert late == Finding(
        "backup late:2026-05-31", Weight.FIX, "backup late", "the record", ("k",), date(2026, 5, 31),
        "The last backup was on 23 May 2026.", "A backup that is recorded ends it.", date(2026, 5, 31),
    )  # fmt: skip
    assert failed == Finding(
        "restore drill failed:2026-05-31", Weight.FIX, "restore drill failed", "the record", ("k",), date(2026, 5, 31),
        "The restore drill of 31 May 2026 failed.", "A restore drill whose seals are all whole ends it.", date(2026, 5, 31),
    )  # fmt: skip


def test_each_stretch_of_lateness_ends_with_the_next_one() -> None:
    kept = {
        "backup": [DrillDone("a", START + timedelta(days=20), True), DrillDone("b", START + timedelta(days=30), True)]
    }
    spans = [((one.first - START).days, one.after and (one.after - START).days) for one in safeguards_late(kept, START)]
    assert spans == [(8, 20), (28, 30), (38, None), (93, None)]
