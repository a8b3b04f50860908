"""Every finding in full: key, weight, code, subject, evidence, first day, its sentence and what ends it."""

from datetime import date, timedelta

import pytest

from clinic.rules import findings as clinic
from clinic.rules import findings_checks as checks
from clinic.rules.chemicals import NewHazard
from clinic.rules.cover import Present, entry_cover
from clinic.rules.findings import Finding, Weight, on_day
from clinic.rules.spores import SporeResult
from clinic.rules.upkeep_facts import UpkeepSpan, UpkeepState
from clinic.rules.upkeep_facts import Use as DriverUse
from training.rules import findings as people
from training.rules import findings_hazards as hazards
from training.rules import findings_records as records
from training.rules.rings import SignerLink, rings

DAY = date(2026, 3, 2)
NEXT = DAY + timedelta(days=1)
CLOSES = "A corrective action that says what was done about it closes it."


def span(
    first: int, after: int | None, state: UpkeepState = UpkeepState.OVERDUE, cause: str | None = None
) -> UpkeepSpan:
    return UpkeepSpan(DAY + timedelta(days=first), None if after is None else DAY + timedelta(days=after), state, cause)


def task(*spans: UpkeepSpan) -> clinic.TaskOnUnit:
    return clinic.TaskOnUnit("U01", "Mill 1", "Deep clean", "m1", spans)


def used(*days: int) -> list[DriverUse]:
    from_day = [DAY + timedelta(days=n) for n in days]
    return [DriverUse(id=f"u{day}", day=day, recorded_at=None, units=1) for day in from_day]  # type: ignore[arg-type]


def test_overdue_upkeep_rests_on_the_facts_that_caused_it() -> None:
    spans = (
        span(-9, -5, cause="e0"),
        span(-5, 0, UpkeepState.IN_TIME, "e1"),
        span(0, 2, cause="e1"),
        span(2, 3, cause="e2"),
        span(3, None, cause="e1"),
    )
    assert on_day(clinic.overdue_upkeep([task(*spans)]), DAY + timedelta(days=3)) == [
        Finding(
            "upkeep overdue:U01:m1:2026-03-02", Weight.FIX, "upkeep overdue", "Deep clean, Mill 1", ("e1", "e2"), DAY,
            "Deep clean, Mill 1: overdue since 2 March 2026, 4 days.", "An entry for this task ends it.",
            DAY + timedelta(days=2), None, DAY - timedelta(days=1),
        )
    ]  # fmt: skip


def test_work_that_nobody_usable_did_or_stood_by() -> None:
    cover = entry_cover(Present("Ada", False), procedure="Deep cleaning")
    assert clinic.entries_without_cover([clinic.EntryDone("e1", DAY, "Deep clean, Mill 1", cover)]) == [
        Finding(
            "not held:e1", Weight.NOTE, "not held", "Deep clean, Mill 1", ("e1",), DAY,
            "Deep clean, Mill 1, 2 March 2026: Ada did not hold Deep cleaning that day, and nobody stood by.", CLOSES, DAY,
        )
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("closed", "weight", "until", "ends", "span"),
    [
        (None, Weight.FIX, "still open", "A good reading ends it.", (1, None)),
        (NEXT, Weight.NOTE, "closed on 3 March 2026", "A corrective action closes it.", (1, None)),
        (DAY + timedelta(days=9), Weight.FIX, "still open", "A good reading ends it.", (1, 9)),
    ],
)
def test_a_late_follow_up(
    closed: date | None, weight: Weight, until: str, ends: str, span: tuple[int, int | None]
) -> None:
    up = clinic.FollowUpOpen("f1", "e1", "Water test, Mill 1", DAY, closed)
    first, after = (None if n is None else DAY + timedelta(days=n) for n in span)
    assert on_day(clinic.late_follow_ups([up]), DAY + timedelta(days=2)) == [
        Finding(
            "follow-up late:f1", weight, "follow-up late", "Water test, Mill 1", ("e1", "f1"), NEXT,
            f"Water test, Mill 1: out of limits, follow-up due 2 March 2026, {until}.", ends, first, after,
        )
    ]  # fmt: skip


def test_a_follow_up_closed_on_its_due_day_is_in_time() -> None:
    assert clinic.late_follow_ups([clinic.FollowUpOpen("f", "e", "Water", DAY, DAY)]) == []


@pytest.mark.parametrize(
    ("first", "after", "weight", "ends"),
    [
        (3, 5, Weight.STOP, "A verification that passes ends it."),
        (5, None, Weight.NOTE, "A corrective action that says what was done closes it."),
    ],
)
def test_a_driver_used_past_its_check(first: int, after: int | None, weight: Weight, ends: str) -> None:
    spans = (span(-9, 0, UpkeepState.DUE), span(0, 2), span(2, 5), span(5, None, UpkeepState.IN_TIME))
    driver = checks.DriverChecked(task(*spans), used(-1, 1, 3, 5))
    assert on_day(checks.drivers_past_check([driver]), DAY + timedelta(days=first)) == [
        Finding(
            "driver past check:m1:2026-03-02", weight, "driver past check", "Mill 1", ("u2026-03-03", "u2026-03-05"),
            NEXT, "Mill 1: used 2 times while its check was overdue from 2 March 2026.", ends,
            DAY + timedelta(days=first), DAY + timedelta(days=after) if after else None,
        )
    ]  # fmt: skip


def test_a_driver_used_for_the_first_time_today_while_its_check_is_overdue_for_ever() -> None:
    driver = checks.DriverChecked(task(span(0, None)), used(0))
    (found,) = checks.drivers_past_check([driver])
    assert found.sentence == "Mill 1: used 1 time while its check was overdue from 2 March 2026."
    assert (found.first, found.after) == (DAY, None)


def test_two_overdue_runs_with_a_good_day_between_are_two_findings() -> None:
    spans = (span(0, 2), span(2, 4, UpkeepState.IN_TIME), span(4, None))
    found = on_day(checks.drivers_past_check([checks.DriverChecked(task(*spans), used(0, 5))]), DAY + timedelta(days=6))
    assert [(one.weight, one.key[-10:]) for one in found] == [
        (Weight.NOTE, "2026-03-02"),
        (Weight.STOP, "2026-03-06"),
    ]


def test_a_driver_that_was_not_used_meanwhile_is_no_finding() -> None:
    driver = checks.DriverChecked(task(span(0, 3), span(3, None, UpkeepState.IN_TIME)), used(-1, 3))
    assert checks.drivers_past_check([driver]) == []


@pytest.mark.parametrize(
    ("control", "why"), [(True, "its control did not grow or was of another lot"), (False, "it had no control")]
)
def test_a_spore_test_that_proves_nothing(control: bool, why: str) -> None:
    test = checks.SporeTestDone("s1", DAY, "Steriliser 1", "st1", SporeResult.INVALID, control, DAY)
    assert checks.spore_tests_unproved([test]) == [
        Finding(
            "spore test unproved:s1", Weight.FIX, "spore test unproved", "Steriliser 1", ("s1",), DAY,
            f"Steriliser 1: the spore test of 2 March 2026 proves nothing, because {why}.",
            "A passed test with a control of the same lot ends it.", DAY,
        )
    ]  # fmt: skip


def test_a_good_spore_test_of_the_same_steriliser_afterwards_makes_it_a_note() -> None:
    bad = checks.SporeTestDone("s1", DAY, "Steriliser 1", "st1", SporeResult.INVALID, True, DAY)
    good = checks.SporeTestDone("s2", NEXT, "Steriliser 1", "st1", SporeResult.PASS, True, NEXT)
    other = checks.SporeTestDone("s3", NEXT, "Steriliser 2", "st2", SporeResult.PASS, True, NEXT)
    (_, note), (fix,) = (checks.spore_tests_unproved([bad, after]) for after in (good, other))
    assert (note.weight, note.ends_when) == (Weight.NOTE, "A corrective action closes it.")
    assert fix.weight is Weight.FIX


def test_a_tool_past_its_life_and_not_one_at_its_end() -> None:
    used = [[(DAY, 60), (NEXT, most)] for most in (100, 101)]
    tools = [checks.ToolMounted("t1", "Cutter 3", "Mill 1", 100, each, DAY + timedelta(days=9)) for each in used]
    assert checks.tools_past_life(tools) == [
        Finding(
            "tool past life:t1", Weight.FIX, "tool past life", "Cutter 3", ("t1",), NEXT,
            "Cutter 3 in Mill 1: past its life of 100 units since 3 March 2026.", "Taking the tool out ends it.",
            NEXT, DAY + timedelta(days=9),
        )
    ]  # fmt: skip


def test_a_tool_past_its_life_on_the_day_it_was_taken_out_is_no_finding() -> None:
    tool = checks.ToolMounted("t1", "Cutter 3", "Mill 1", 100, [(DAY, 60), (NEXT, 101)], NEXT)
    assert checks.tools_past_life([tool]) == []


def test_training_that_is_overdue() -> None:
    one = people.EverRequired("Ada", "a", "Milling (P07)", "P07", [people.Ask(DAY, None, DAY)], ())
    assert on_day(people.training_overdue([one]), DAY + timedelta(days=3)) == [
        Finding(
            "training overdue:a:P07:2026-03-03", Weight.FIX, "training overdue", "Ada, Milling (P07)", (), NEXT,
            "Ada, Milling (P07): was due 2 March 2026, 3 days ago.", "A sign-off ends it, or the end of the requirement.",
            NEXT, None, DAY,
        )
    ]  # fmt: skip


def test_a_wrong_signature() -> None:
    one = people.JudgedSignature("s1", DAY, "Ada", "a", "Ben", "b", "P07", False, False)
    assert people.wrong_signatures([one]) == [
        Finding(
            "wrong signature:s1", Weight.STOP, "wrong signature", "Ada, P07", ("s1",), DAY,
            "Ada, P07: signed by Ben on 2 March 2026, without authority that day and while not usable in it.",
            "A withdrawal, or a voiding of the sign-off with its reason, ends it.", DAY,
        )
    ]  # fmt: skip


def test_an_unanswered_critical_miss() -> None:
    assert people.unanswered_misses([people.CriticalMiss("o1", DAY, "Ada", "P07")]) == [
        Finding(
            "critical miss unanswered:o1", Weight.STOP, "critical miss unanswered", "Ada, P07", ("o1",), NEXT,
            "Ada, P07: a critical step was missed on 2 March 2026 and nobody has answered it.",
            "A withdrawal, or a reason why not, ends it.", NEXT,
        )
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("who", "name", "ends"),
    [
        ("", "nobody", "Two people who may work alone in it and have authority end it."),
        ("a", "Ada", "A second person who may work alone in it and has authority ends it."),
    ],
)
def test_too_few_signers(who: str, name: str, ends: str) -> None:
    can = {who: [(DAY, NEXT)]} if who else {}
    duty = people.Duty("P03", "Tool swap", [(DAY, NEXT)], can)
    assert people.too_few_signers([duty], {"a": "Ada"}, DAY - timedelta(days=9)) == [
        Finding(
            f"too few signers:{who or 'nobody'}:2026-03-02", Weight.FIX, "too few signers", "Tool swap (P03)", (), DAY,
            f"Tool swap (P03): {name} can sign; two are needed, as nobody signs for themselves.", ends, DAY, NEXT,
        )
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("missing", "code", "says", "ends"),
    [
        (
            (records.LIVE,),
            "questions not live",
            "questions could not be asked live",
            "Teach it again with a trainer who answers at once.",
        ),
        (
            ("the language used", records.LIVE),
            "record with a gap",
            "the record lacks the language used and live questions with the trainer",
            "A corrected record that has it ends it.",
        ),
    ],
)
def test_a_session_with_a_gap(missing: tuple[str, ...], code: str, says: str, ends: str) -> None:
    kept = records.SessionKept("s1", DAY, "Sharps (T01)", missing)
    assert records.records_with_gaps([kept]) == [
        Finding(
            f"{code}:s1", Weight.FIX, code, "Sharps (T01), 2 March 2026", ("s1",), DAY,
            f"Sharps (T01), 2 March 2026: {says}; it does not count.", ends, DAY,
        )
    ]  # fmt: skip


def test_work_to_a_version_past_its_deadline() -> None:
    old = records.PastDeadline("Ada", "a", "P03", "2", DAY, (("e2", NEXT), ("e1", DAY)))
    assert on_day(records.work_past_deadline([old]), NEXT) == [
        Finding(
            "old version:a:P03:2026-03-02", Weight.NOTE, "old version", "Ada, P03", ("e2", "e1"), DAY,
            "Ada, P03: 2 pieces of work since 2 March 2026, after version 2 asked to be watched again.", CLOSES, NEXT,
        )
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("unit", "codes", "about", "who"),
    [
        ("", ["P03"], "“lamp”", "P03 uses it"),
        ("Mill 1", ["P03", "P01", "P03"], "“lamp” of Mill 1", "P01 and P03 use it"),
    ],
)
def test_a_site_fact_that_is_not_filled_in(unit: str, codes: list[str], about: str, who: str) -> None:
    used = {code: [(DAY, None)] for code in codes}
    asked = [
        records.FactAsked("lamp", unit, used),
        records.FactAsked("door", "", {}),
        records.FactAsked("sink", "", used, DAY),
    ]
    assert records.missing_site_facts(asked) == [
        Finding(
            f"site fact empty:lamp:{unit}:2026-03-02", Weight.FIX, "site fact empty", about, (), DAY,
            f"{about} is not filled in, and {who}.", "An answer in the walk round ends it; “not used here” is an answer.", DAY,
        )
    ]  # fmt: skip


def test_training_that_a_role_allows_after_the_first_exposure() -> None:
    asked = [records.DaysAllowed("Assistant", "7", "Blood (T01)", 1, DAY)]
    assert records.exposed_before_training(asked) == [
        Finding(
            "exposed before training:7:2026-03-02", Weight.FIX, "exposed before training", "Assistant, Blood (T01)", (), DAY,
            "Assistant, Blood (T01): the role allows 1 day for it. Whoever may meet blood is trained at the first assignment, "
            "before that work (29 CFR 1910.1030(g)(2)).", "End the requirement, and ask it again with 0 days.", DAY,
        )
    ]  # fmt: skip


def test_a_broken_seal() -> None:
    assert records.seal_check([records.SealCheck("c1", DAY, 2, DAY)], DAY) == [
        Finding(
            "broken seal:2026-03-02", Weight.STOP, "broken seal", "the record", ("c1",), DAY,
            "The last check, 2 March 2026, found 2 broken seals.",
            "Find what broke, restore it from a backup, and a clean check ends it.", DAY,
        )
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("day", "says"), [(DAY, "The seals were last checked on 2 March 2026."), (None, "The seals were never checked.")]
)
def test_a_late_seal_check(day: date | None, says: str) -> None:
    checks = [records.SealCheck("c1", day, 0, DAY)] if day else []
    assert records.seal_check(checks, DAY)[-1:] == [
        Finding(
            "seal check late:2026-03-10", Weight.FIX, "seal check late", "the record", (), DAY + timedelta(days=8), says,
            "A check of the seals ends it.", DAY + timedelta(days=8),
        )
    ]  # fmt: skip


def test_a_ring_of_signers() -> None:
    links = [SignerLink("l2", NEXT, "P03", "b", "a"), SignerLink("l1", DAY, "P03", "a", "b")]
    assert on_day(rings(links, [], {"a": "Ada"}), NEXT) == [
        Finding(
            "ring of signers:P03:2026-03-03", Weight.STOP, "ring of signers", "P03", ("l1", "l2"), NEXT,
            "P03: Ada and b signed each other, and nobody outside watched any of them.",
            "An assessment by an outside witness with a new sign-off ends it, or a founding grant.", NEXT,
        )
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("names", "who"),
    [(("Ada",), "1 person not taught about it: Ada"), (("Ada", "Ben"), "2 people not taught about it: Ada, Ben")],
)
def test_a_new_hazard_that_was_not_taught_in_time(names: tuple[str, ...], who: str) -> None:
    hazard = NewHazard(
        id="c1", product="Coolant additive", classes=("corrosive", "toxic"), since=DAY - timedelta(days=7)
    )
    since = hazard.teach_by + timedelta(days=1)
    untaught = hazards.Untaught(hazard, "Chemicals (T03)", [(name, [(hazard.since, None)]) for name in names])
    assert hazards.new_hazards_untaught([untaught]) == [
        Finding(
            f"new hazard untaught:c1:{since}", Weight.FIX, "new hazard untaught", "Coolant additive", ("c1",), since,
            f"Coolant additive: new here since 23 February 2026 (corrosive, toxic), and {who}.",
            "A taught session (Chemicals (T03)) that they attend, with its record whole, ends it.", since,
        )
    ]  # fmt: skip


def test_a_new_hazard_that_everybody_was_taught_in_time_is_no_finding() -> None:
    hazard = NewHazard(id="c1", product="Coolant additive", classes=("toxic",), since=DAY)
    waiting = [("Ada", [(DAY, hazard.teach_by)])]
    assert hazards.new_hazards_untaught([hazards.Untaught(hazard, "T03", waiting)]) == []
