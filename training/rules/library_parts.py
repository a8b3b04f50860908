"""The parts of a procedure's file: which fields each has, and what can be said of it on its own."""

import re
from dataclasses import replace
from typing import Any

from training.rules.content import question_faults, step_faults
from training.rules.facts import FromPaper, Method, MethodQuota, Policy
from training.rules.library_file import Block
from training.rules.policy import policy_faults
from training.rules.step_order import Act
from training.rules.texts import (
    Content,
    Question,
    QuestionWeight,
    Source,
    Step,
)

ROW = re.compile(r"[A-Z]-\d\d")
MARK = re.compile(r"[VRMCD](\+[VRMCD])*")
LETTERS = ("A", "B", "C", "D")


def read_content(block: Block) -> Content:
    return Content(
        purpose=block.text("purpose"),
        hazards=block.texts("hazards"),
        protective_equipment=block.texts("protective_equipment"),
        note=block.maybe_text("note"),
        sources=tuple(read_sources(block)),
        steps=tuple(read_step(step) for step in block.blocks("steps")),
        evidence=block.maybe_text("evidence"),
        questions=tuple(read_question(question) for question in block.blocks("questions")),
        who=block.maybe_text("who"),
        again=block.maybe_text("again"),
        contents=block.texts("contents"),
        records=block.texts("records"),
    )


def read_sources(block: Block) -> list[Source]:
    """The sources of a file. Rows that its texts name must be among them."""
    return [read_source(source) for source in block.blocks("sources")]


def read_source(block: Block) -> Source:
    source = Source(row=block.text("row"), mark=block.text("mark"), says=block.text("says"))
    if source.row and not ROW.fullmatch(source.row):
        block.fault(f"row {source.row} is malformed: write a letter, a hyphen and two digits.", "row")
    if source.mark and not MARK.fullmatch(source.mark):
        block.fault(f"mark is {source.mark}: write V, R, M, C or D, or two as V+M.", "mark")
    block.reader.define(f"source row in {block.file}", source.row, block, "row")
    block.close()
    return source


def rows_named(block: Block) -> tuple[str, ...]:
    """The rows that a part of a file rests on."""
    rows = block.names("sources", f"source row in {block.file}")
    for row in rows:
        if not ROW.fullmatch(row):
            block.fault(f"source row {row} is malformed: write a letter, a hyphen and two digits.", "sources")
    return rows


def read_step(block: Block) -> Step:
    step = Step(
        key=block.text("key"),
        do=block.text("do"),
        critical=block.maybe("critical", bool, False),
        when=block.maybe_text("when"),
        caution=block.maybe_text("caution"),
        sources=rows_named(block),
        acts=read_acts(block),
    )
    block.reader.define(f"step in {block.file}", step.key, block, "key")
    block.close()
    for says in () if block.faulty else step_faults(step):
        block.fault(says, "do")
    return step


def read_acts(block: Block) -> tuple[str, ...]:
    """What the step does, where its place matters."""
    for line, word in block.items("acts", needed=False):
        if word not in list(Act):
            block.fault_at(line, f"acts has {word}: write one of {', '.join(Act)}.")
    return tuple(word for word in block.texts("acts") if word in list(Act))


def read_question(block: Block) -> Question:
    """A worker's question; its weight says how many may be wrong."""
    weight = QuestionWeight(block.choice("weight", [str(weight) for weight in QuestionWeight]))
    return asked(block, weight)


def read_supervisor_question(block: Block) -> tuple[str, Question]:
    """Law and records: all count as knowledge. The code is of the procedure it belongs to."""
    code = block.named("procedure", "procedure")
    return code, asked(block, QuestionWeight.KNOWLEDGE)


def asked(block: Block, weight: QuestionWeight) -> Question:
    right = block.text("right")
    question = Question(
        key=block.text("key"),
        weight=weight,
        ask=block.text("ask"),
        options=block.texts("options", needed=True),
        right_index=LETTERS.index(right) if right in LETTERS else -1,
        why=block.text("why"),
        sources=rows_named(block),
    )
    block.reader.define(f"question in {block.file}", question.key, block, "key")
    block.close()
    for says in () if block.faulty else question_faults(question):
        block.fault(says, "right" if says.startswith("right") else "options")
    return question


def read_policy(block: Block, defaults: Policy) -> Policy:
    """The fields that are there, over the defaults."""
    policy = Policy(
        by_method=tuple(read_quota(quota) for quota in block.blocks("by_method")),
        methods=read_methods(block, "methods", defaults.methods),
        renewal_methods=read_methods(block, "renewal_methods", defaults.renewal_methods),
        prerequisites=block.names("prerequisites", "procedure"),
        upkeep_covered=block.names("upkeep_covered", "upkeep task"),
        check_asked=block.maybe("check_asked", bool, defaults.check_asked),
        from_paper=FromPaper(block.choice("from_paper", [each.value for each in FromPaper]))
        if "from_paper" in block.data
        else defaults.from_paper,
    )
    counts = (
        "needed",
        "renewal_needed",
        "distinct_days",
        "distinct_supervisors",
        "window_days",
        "notice_days",
        "grace_days",
    )
    absent = ("renewal_months", "first_year_months", "idle_days", "reobserve_days")
    numbers: dict[str, Any] = {name: block.maybe(name, int, getattr(defaults, name)) for name in counts}
    may_be_null: dict[str, Any] = {name: block.optional(name, int, 1, getattr(defaults, name)) for name in absent}
    block.close()
    return replace(policy, **numbers, **may_be_null)


def check_policy(block: Block, policy: Policy, content: Content) -> None:
    """What the policy asks, said at the field that it names first."""
    for says in () if block.faulty else policy_faults(policy, content):
        name = says.split(" ", 1)[0]
        block.fault(says, name if name in block.data else None)


def read_quota(block: Block) -> MethodQuota:
    quota = MethodQuota(read_methods(block, "methods", frozenset()), block.value("count", int, 1))
    block.close()
    return quota


def read_methods(block: Block, name: str, default: frozenset[Method]) -> frozenset[Method]:
    words = block.texts(name)
    for line, word in block.items(name, needed=False):
        if word not in list(Method):
            block.fault_at(line, f"{name} has {word}: write one of {', '.join(Method)}.")
    return frozenset(Method(word) for word in words if word in list(Method)) if name in block.data else default
