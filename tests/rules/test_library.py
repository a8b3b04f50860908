"""The library as it comes, held against the checks of its own table; and every way in which a file can be wrong.

The figures of the table are our own design (D), written down before the files were; there is no outside authority.
"""

from collections import Counter
from pathlib import Path

import pytest

from tests.rules.small_library import faults_of, replace_in, write_library
from training.rules.content import right_is_longest
from training.rules.facts import Method
from training.rules.library import Library, ProcedureText, read_library
from training.rules.texts import content_from_json, content_to_json, policy_from_json, policy_to_json

FOLDER = Path(__file__).parents[2] / "fixtures" / "library"
P01, P02, UPKEEP = "procedures/P01.yaml", "procedures/P02.yaml", "upkeep.yaml"


@pytest.fixture(scope="module")
def library() -> Library:
    return read_library(FOLDER)


@pytest.fixture(scope="module")
def practice(library: Library) -> dict[str, ProcedureText]:
    return {text.code: text for text in library.procedures if text.kind == "practice"}


def rests_on(practice: dict[str, ProcedureText], code: str) -> set[str]:
    """Everything the procedure rests on, near and far."""
    near = set(practice[code].policy.prerequisites)
    return near.union(*(rests_on(practice, needed) for needed in near))


def test_procedures_and_topics_are_numbered_without_a_gap(library, practice):
    assert list(practice) == [f"P{number:02d}" for number in range(1, len(practice) + 1)]
    assert [text.code for text in library.procedures if text.kind == "topic"] == ["T01", "T02", "T03", "T04", "T05"]


def test_prerequisites_grow_from_four_roots(practice):
    assert {code for code, text in practice.items() if not text.policy.prerequisites} == {"P01", "P13", "P14", "P18"}


def test_calibration_rests_on_eight_and_restart_on_nine(practice):
    assert rests_on(practice, "P12") == {"P01", "P02", "P03", "P04", "P09", "P13", "P14", "P18"}
    assert rests_on(practice, "P21") == {"P01", "P02", "P06", "P07", "P08", "P09", "P13", "P14", "P18"}


def test_69_first_assessments_of_which_30_are_real_work_and_a_renewal_each(practice):
    policies = [text.policy for text in practice.values()]
    only_real = [quota.count for p in policies for quota in p.by_method if quota.methods == {Method.REAL}]
    assert (sum(p.needed for p in policies), sum(only_real), sum(p.renewal_needed for p in policies)) == (69, 30, 25)


@pytest.mark.parametrize(
    ("name", "asked"), [("everyone", 7), ("mills", 46), ("torque and calibration", 10), ("cleans and sterilises", 9)]
)
def test_each_role_set_asks_its_number_of_first_assessments(library, name, asked):
    needed = {text.code: text.policy.needed for text in library.procedures}
    assert sum(needed[code] for code in library.role_sets[name]) == asked


def test_whoever_works_in_the_room_is_taught_four_topics_and_nobody_a_respirator_by_default(library):
    """8.2 of the handbook: job roles require a taught topic just as they require a procedure; T05 is for its wearers."""
    taught = {name: {code for code in codes if code[0] == "T"} for name, codes in library.role_sets.items()}
    assert taught.pop("everyone") == {"T01", "T02", "T03", "T04"}
    assert not any(taught.values())


def test_a_drill_of_the_injury_asks_one_drill_and_one_talk(practice):
    policy = practice["P13"].policy
    assert [(quota.methods, quota.count) for quota in policy.by_method] == [({Method.DRILL}, 1), ({Method.TALK}, 1)]
    assert (policy.renewal_methods, policy.renewal_months, policy.notice_days) == ({Method.DRILL}, 6, 15)


def test_a_crash_may_be_shown_wholly_by_drill_but_not_by_talk_alone(practice):
    policy = practice["P20"].policy
    assert policy.methods == {Method.REAL, Method.DRILL, Method.TALK}
    assert [(quota.methods, quota.count) for quota in policy.by_method] == [({Method.REAL, Method.DRILL}, 1)]


def test_hazard_communication_is_never_renewed_by_the_calendar(practice):
    assert practice["P18"].policy.renewal_months is None


def test_the_first_year_and_the_idle_days_are_asked_where_edges_are(practice):
    assert {code for code, text in practice.items() if text.policy.first_year_months == 6} == {"P03", "P04", "P06"}
    idle = {code for code, text in practice.items() if text.policy.idle_days == 183}
    assert idle == {"P03", "P04", "P06", "P07", "P08", "P09", "P24"}


def test_evidence_outlives_the_longest_life_and_its_notice(practice):
    policies = [text.policy for text in practice.values()]
    assert all(policy.window_days >= 366 + policy.notice_days for policy in policies)


def test_questions_have_four_options_and_no_favourite_letter(practice):
    questions = [question for text in practice.values() for question in text.content.questions]
    assert {len(question.options) for question in questions} == {4}
    letters = Counter(question.right_index for question in questions)
    assert max(letters.values()) - min(letters.values()) <= 1


def test_the_right_option_is_the_longest_in_fewer_than_a_third_of_the_questions(practice):
    questions = [question for text in practice.values() for question in text.content.questions]
    assert 3 * sum(right_is_longest(question) for question in questions) < len(questions)


def test_20_tasks_14_walk_questions_and_8_stop_rules(library):
    assert [task.code for task in library.upkeep_tasks] == [f"U{number:02d}" for number in range(1, 21)]
    assert (len(library.walk_questions), len(library.stop_rules.rules)) == (14, 8)
    assert len(library.stop_rules.acts) == 5


def test_upkeep_counts_as_doing_the_procedure_that_covers_it_and_what_is_done_within_it(library, practice):
    """Common practice, no source: looking at the tub is no swap, and a dip-slide no change of the water; a deep clean begins
    with the daily one, which is done no less for that."""
    counts = {(code, task) for code, text in practice.items() for task in text.policy.upkeep_covered}
    named = {(task.covered_by, task.code) for task in library.upkeep_tasks if task.covered_by}
    assert counts - named == {("P06", "U01")}
    assert named - counts == {("P03", "U15"), ("P07", "U06")}


def test_no_words_that_claim_too_much_stand_in_the_library():
    words = "".join(path.read_text(encoding="utf-8") for path in FOLDER.rglob("*") if path.is_file())
    for claim in ("1910.132(f)(4)", "CLIA compliant", "OSHA approved", "ISO/IEC 17024 certified"):
        assert claim not in words


def test_every_text_and_policy_comes_back_from_its_json_as_it_was(library):
    for text in library.procedures:
        assert content_from_json(content_to_json(text.content)) == text.content
        assert policy_from_json(policy_to_json(text.policy)) == text.policy


def test_a_small_library_that_is_right_has_no_faults(tmp_path):
    assert faults_of(write_library(tmp_path)) == []


BROKEN = [
    (P01, "title: Stop it", "titel: Stop it", "field titel is unknown"),
    (P01, "  needed: 2", "  needed: two", "needed must be a whole number, and is 'two'"),
    (P01, "    critical: true", "    critical: 1", "critical must be true or false, and is 1"),
    (P01, "hazards:\n  - Cuts", "hazards: Cuts", "hazards must be a list, and is 'Cuts'"),
    (P01, "kind: practice", "kind: training", "kind is training: write one of practice, topic"),
    (P02, "equipment_kind: milling unit", "equipment_kind: oven", "equipment_kind is oven: write one of milling unit"),
    (P01, "purpose: Know how to stop it.", "purpose: ''", "purpose is empty"),
    (P01, "  - key: s02", "  - key: s01", "there are two steps named s01"),
    (P02, "code: P02", "code: P01", "there are two procedures named P01"),
    (P01, "    do: Point to {stop control}.", "    do: Point to {stop knob}.", "site fact {stop knob} is not defined"),
    (P02, "  prerequisites: [P01]", "  prerequisites: [P09]", "procedure P09 is not defined"),
    (P02, "  prerequisites: [P01]", "  prerequisites: [P02]", "prerequisites of P02 name P02 itself"),
    (P01, "  renewal_months: 12", "  prerequisites: [P02]", "prerequisites form a ring: P01 rests on P02"),
    (P01, "  upkeep_covered: [U01]", "  upkeep_covered: [U09]", "upkeep task U09 is not defined"),
    (P02, "role_sets: []", "role_sets: [nobody]", "role set nobody is not defined"),
    (P02, "role_sets: []", "role_sets: [everyone]", "P02 and role set everyone do not both name each other"),
    (P01, "  methods: [real, practice]", "  methods: [real, film]", "methods has film"),
    (P01, "  needed: 2", "  from_paper: always", "from_paper is always: write one of both, renewal, never"),
    (P01, "mark: V+M", "mark: X", "mark is X: write V, R, M, C or D"),
    (P01, "{row: O-31,", "{row: O-311,", "row O-311 is malformed"),
    (P01, "    sources: [O-31]", "    sources: [O-30]", "source row O-30 is not defined"),
    (P01, "    right: C", "    right: E", "right of question q1 is none of its options"),
    (P01, "    options:\n      - Go on.\n", "    options:\n", "question q1 has 3 options"),
    (P01, "    options:\n      - Go on.", "    options:\n      - wait.", "has two options that say the same"),
    (P01, "    do: Leave it shut.", "    do: Never open it.", "step s02 starts with “Never”"),
    (P01, "    do: Leave it shut.", "    do: 'When it hums: leave it.'", "step s02 starts with “When”"),
    (P01, "    when: it hums", "    when: ''", "when is empty"),
    (P02, "steps:\n  - {key: s01, critical: true,", "steps:\n  - {key: s01,", "no step is critical"),
    (P01, "  needed: 2", "  window_days: 300", "window_days is 300, but a sign-off can live 366 days"),
    (UPKEEP, "    covered_by: P01", "    covered_by: P07", "procedure P07 is not defined"),
    (UPKEEP, "        kind: yes/no", "        kind: colour", "kind is colour: write one of number"),
    ("site_facts.yaml", "question: 1}", "question: 4}", "walk question 4 is not defined"),
    ("role_sets.yaml", "procedures: [P01]", "procedures: [P01, P77]", "procedure P77 is not defined"),
    (P01, "stands_for: tool swap", "stands_for: tool change", "stands_for is tool change: write one of tool swap"),
    (P01, "returns: [milling unit,", "returns: [milling unit, oven,", "returns has oven: write one of milling unit"),
    (
        P02,
        "role_sets: []",
        "returns: [steriliser]",
        "there are two procedures that return a steriliser: change one.",
    ),
    (
        P02,
        "role_sets: []",
        "stands_for: tool swap",
        "there are two files that stand for tool swap: change one.",
    ),
    (
        UPKEEP,
        "stands_for: driver check",
        "stands_for: spore test",
        "a spore test is of a steriliser, and not of a torque",
    ),
    ("topics/T01.yaml", "purpose: Know them.", "purpose: Know: them.", "this is no YAML"),
]


@pytest.mark.parametrize(("file", "old", "new", "says"), BROKEN, ids=[row[3] for row in BROKEN])
def test_a_fault_is_told_with_its_file_and_line(tmp_path, file, old, new, says):
    line = replace_in(write_library(tmp_path), file, old, new)
    found = [(where, at) for where, at, told in faults_of(tmp_path) if says in told]
    assert found == [(file, line)]


def test_a_missing_field_is_told_where_its_block_begins(tmp_path):
    line = replace_in(write_library(tmp_path), P01, "    ask: It hums. What do you do?\n", "")
    assert faults_of(tmp_path) == [(P01, line - 2, "field ask is missing: add it.")]


UNFILLED = [
    (P01, "stands_for: tool swap", "procedures", "no file stands for tool swap: write “stands_for: tool swap” in"),
    ("topics/T01.yaml", "stands_for: bloodborne pathogens", "procedures", "no file stands for bloodborne pathogens"),
    ("procedures/P03.yaml", "stands_for: milling job\n", "procedures", "no file stands for milling job"),
    (P01, ", steriliser", "procedures", "no procedure returns a steriliser: write “returns: [steriliser]” in"),
    (
        UPKEEP,
        " stands_for: spore test,",
        "upkeep.yaml",
        "no task stands for spore test: write “stands_for: spore test” in",
    ),
    (UPKEEP, " stands_for: tank sample,", "upkeep.yaml", "no task stands for tank sample"),
]


@pytest.mark.parametrize(("file", "filled", "where", "says"), UNFILLED, ids=[row[3] for row in UNFILLED])
def test_what_nothing_stands_for_is_told(tmp_path, file, filled, where, says):
    replace_in(write_library(tmp_path), file, filled, "")
    ((found, line, told),) = faults_of(tmp_path)
    assert (found, line, told.startswith(says)) == (where, 0, True)


def test_a_sample_may_be_taken_in_two_ways_and_a_spore_test_in_one(tmp_path):
    """By the practice itself and by a laboratory; a second task that stands for a spore test leaves open which counts."""
    more = "  - {code: U28, title: Again, equipment_kind: %s, stands_for: %s, every_days: 365, warn_days: 9,\n    source: no source, readings: [{key: a, label: A, kind: text}]}\n"
    tasks = write_library(tmp_path) / UPKEEP
    once = tasks.read_text()
    tasks.write_text(once + more % ("dental-unit water line", "line sample"))
    assert faults_of(tmp_path) == []
    tasks.write_text(once + more % ("steriliser", "spore test"))
    ((file, line, says),) = faults_of(tmp_path)
    assert (file, line) == (UPKEEP, once.count("\n") + 1)
    assert says == "there are two tasks that stand for spore test: change one."


def test_the_library_says_what_each_of_its_files_stands_for(library):
    assert {text.stands_for: text.code for text in library.procedures if text.stands_for} == {
        "tool swap": "P03", "milling job": "P24", "block clamped": "P04", "bloodborne pathogens": "T01",
    }  # fmt: skip
    assert {kind: text.code for text in library.procedures for kind in text.returns} == {
        "milling unit": "P06", "coolant tank": "P07", "coolant filter": "P08", "suction unit": "P10",
        "torque driver": "P05", "steriliser": "P17", "dental-unit water line": "P16",
    }  # fmt: skip


def test_a_missing_file_is_told(tmp_path):
    (write_library(tmp_path) / "hands.yaml").unlink()
    assert faults_of(tmp_path) == [("hands.yaml", 0, "the file is missing: add it.")]


def test_every_fault_is_told_at_once(tmp_path):
    write_library(tmp_path)
    lines = [
        replace_in(tmp_path, P01, "title: Stop it", "title: 7"),
        replace_in(tmp_path, P01, "    right: C", "    right: F"),
        replace_in(tmp_path, P02, "do: Wipe it.", "do: Never wipe it."),
        replace_in(tmp_path, UPKEEP, "    warn_days: 1", "    warn_days: soon"),
    ]
    assert [(file, line) for file, line, _ in faults_of(tmp_path)] == list(
        zip((P01, P01, P02, UPKEEP), lines, strict=True)
    )


def test_a_library_whose_right_options_are_mostly_the_longest_is_refused(tmp_path):
    replace_in(write_library(tmp_path), P01, "    right: C", "    right: D")
    assert [says for _, _, says in faults_of(tmp_path)] == [
        "the right option is the longest in 1 of 1 question: shorten some, so that it is in at most 40%."
    ]
