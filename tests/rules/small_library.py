"""A library of one procedure and one topic that is right, to be broken in one place at a time."""

from pathlib import Path

from training.rules.library import LibraryFaults, read_library

FILES = {
    "defaults.yaml": "policy:\n  window_days: 400\n",
    "procedures/P01.yaml": """\
code: P01
title: Stop it
area: safety
kind: practice
equipment_kind: milling unit
role_sets: [everyone]
purpose: Know how to stop it.
hazards:
  - Cuts
protective_equipment:
  - Eyewear
policy:
  needed: 2
  methods: [real, practice]
  by_method:
    - {methods: [real], count: 1}
  renewal_months: 12
  upkeep_covered: [U01]
steps:
  - key: s01
    critical: true
    do: Point to {stop control}.
    sources: [O-31]
  - key: s02
    when: it hums
    do: Leave it shut.
evidence: Day.
questions:
  - key: q1
    weight: safety
    ask: It hums. What do you do?
    options:
      - Go on.
      - Wait.
      - Stop.
      - Call a friend first.
    right: C
    why: Stopping is safe.
sources:
  - {row: O-31, mark: V+M, says: a rule}
stands_for: tool swap
returns: [milling unit, coolant tank, coolant filter, suction unit, torque driver, steriliser, dental-unit water line]
""",
    "procedures/P02.yaml": """\
code: P02
title: Clean it
area: cleaning
kind: practice
equipment_kind: milling unit
role_sets: []
purpose: Have it clean.
policy:
  prerequisites: [P01]
steps:
  - {key: s01, critical: true, do: Wipe it.}
""",
    "procedures/P03.yaml": """\
code: P03
title: Mill it
area: milling
kind: practice
equipment_kind: milling unit
role_sets: []
purpose: Have it milled.
policy: {}
steps:
  - {key: s01, critical: true, do: Watch it.}
stands_for: milling job
""",
    "procedures/P04.yaml": """\
code: P04
title: Clamp it
area: milling
kind: practice
equipment_kind: milling unit
role_sets: []
purpose: Have it hold.
policy: {}
steps:
  - {key: s01, critical: true, do: Pull it.}
stands_for: block clamped
""",
    "topics/T01.yaml": """\
code: T01
title: Hands
area: taught
kind: topic
equipment_kind: site
purpose: Know them.
policy:
  needed: 0
  check_asked: false
  renewal_needed: 0
stands_for: bloodborne pathogens
""",
    "upkeep.yaml": """\
tasks:
  - code: U01
    title: Clean
    equipment_kind: milling unit
    every_days: 7
    warn_days: 1
    covered_by: P01
    readings:
      - key: clean
        label: Clean
        kind: yes/no
        what_to_do: Clean it again.
    source: common practice, no source
  - {code: U21, title: Check, equipment_kind: torque driver, stands_for: driver check, every_days: 365, warn_days: 30,
    source: no source, readings: [{key: paper, label: Paper, kind: text}]}
  - {code: U22, title: Spores, equipment_kind: steriliser, stands_for: spore test, every_days: 7, warn_days: 1,
    source: no source, readings: [{key: lot, label: Lot, kind: text}]}
  - {code: U23, title: Water, equipment_kind: dental-unit water line, stands_for: line sample, every_days: 90, warn_days: 9,
    source: no source, readings: [{key: where, label: Where, kind: text}]}
  - {code: U24, title: Coolant, equipment_kind: coolant tank, stands_for: tank sample, every_days: 30, warn_days: 5,
    source: no source, readings: [{key: smell, label: Smell, kind: text}]}
  - {code: U25, title: Fresh water, equipment_kind: coolant tank, stands_for: water change, every_days: 7, warn_days: 1,
    source: no source, readings: [{key: look, label: Look, kind: text}]}
  - {code: U26, title: New filter, equipment_kind: coolant filter, stands_for: filter change, every_days: 7, warn_days: 1,
    source: no source, readings: [{key: leak, label: Leak, kind: text}]}
  - {code: U27, title: Purge, equipment_kind: milling unit, stands_for: purge, every_days: 7, warn_days: 1,
    source: no source, readings: [{key: jets, label: Jets, kind: text}]}
""",
    "site_facts.yaml": """\
questions:
  - {number: 1, ask: How do you stop it?}
facts:
  - {name: stop control, of: milling unit, write: what stops it, example: the red knob, question: 1}
""",
    "role_sets.yaml": """\
role_sets:
  - name: everyone
    says: Everybody.
    procedures: [P01]
""",
    "stop_rules.yaml": """\
says: Anybody may stop it.
acts: [Hands out.]
then: A usable person returns it.
rules:
  - {number: 1, title: No click, says: It does not click.}
""",
    "supervisor_questions.yaml": """\
questions:
  - key: q1
    procedure: P01
    ask: Which rule?
    options: [One, Two, Four, Five]
    right: A
    why: So it is written.
""",
    "hands.yaml": """\
title: Hands
rules: [No hand goes in.]
stop_unsafe: [A bridged door switch.]
common_record: [The day]
""",
}


def write_library(folder: Path) -> Path:
    for name, text in FILES.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def replace_in(folder: Path, name: str, old: str, new: str) -> int:
    """Put `new` in the place of `old` in one file, and tell the line it begins on."""
    text = (folder / name).read_text(encoding="utf-8")
    assert text.count(old) == 1, f"{name} holds “{old}” {text.count(old)} times"
    (folder / name).write_text(text.replace(old, new), encoding="utf-8")
    return text[: text.index(old)].count("\n") + 1


def faults_of(folder: Path) -> list[tuple[str, int, str]]:
    """What reading the folder refuses, as (file, line, sentence); nothing where it is read."""
    try:
        read_library(folder)
    except LibraryFaults as refused:
        return [(fault.file, fault.line, fault.says) for fault in refused.faults]
    return []
