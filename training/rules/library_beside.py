"""What stands beside the procedures: upkeep tasks and their readings, site facts, role sets, stop rules, rules about hands."""

from typing import Any

from clinic.rules.readings import ReadingKind, ReadingSpec
from clinic.rules.roles import TaskRole
from clinic.rules.stops import StopRule, StopRules
from training.rules.library_file import EQUIPMENT_KINDS, Block
from training.rules.library_parts import rows_named
from training.rules.library_roles import check_task_role, read_role
from training.rules.texts import (
    Hands,
    RoleSet,
    SiteFactText,
    UpkeepTaskText,
    WalkQuestion,
)


def read_task(block: Block) -> UpkeepTaskText:
    covered = block.named("covered_by", "procedure") if "covered_by" in block.data else ""
    task = UpkeepTaskText(
        code=block.text("code"),
        title=block.text("title"),
        equipment_kind=block.choice("equipment_kind", EQUIPMENT_KINDS),
        every_days=block.optional("every_days", int, 1),
        every_units=block.optional("every_units", int, 1),
        warn_days=block.value("warn_days", int, 0),
        plan_units=block.optional("plan_units", int, 1),
        unit_word=block.maybe("unit_word", str, "parts"),
        covered_by=covered,
        readings=tuple(read_reading(reading) for reading in block.blocks("readings", needed=True)),
        source=block.text("source"),
        note=block.maybe_text("note"),
        sources=rows_named(block),
        only_a_pass=block.maybe("only_a_pass", bool, False),
        closer_days=block.optional("closer_days", int, 1) if "closer_days" in block.data else None,
        stands_for=read_role(block, TaskRole),
    )
    block.reader.define("upkeep task", task.code, block, "code")
    block.close()
    check_task(block, task)
    check_task_role(block, task)
    return task


def check_task(block: Block, task: UpkeepTaskText) -> None:
    if task.every_days is None and task.every_units is None:
        block.fault("neither every_days nor every_units is there: say how often it is due.")
    if task.plan_units is not None and (task.every_units is None or task.plan_units >= task.every_units):
        block.fault("plan_units is not below every_units: due comes before overdue.", "plan_units")
    keys = [reading.key for reading in task.readings]
    for key in sorted({key for key in keys if keys.count(key) > 1}):
        block.fault(f"two readings have the key {key}: change one.", "readings")


def read_reading(block: Block) -> ReadingSpec:
    limits: dict[str, Any] = {name: block.optional(name, float, 0.0) for name in ("low", "high", "below")}
    numbers: dict[str, Any] = {name: block.optional(name, int, 0) for name in ("total", "follow_up_days")}
    names: dict[str, Any] = {
        name: block.named(name, "site fact") if name in block.data else None for name in ("site_limit", "site_total")
    }
    reading = ReadingSpec(
        key=block.text("key"),
        label=block.text("label"),
        kind=ReadingKind(block.choice("kind", ReadingKind)),
        unit=block.maybe_text("unit"),
        choices=block.texts("choices"),
        good=block.texts("good"),
        what_to_do=block.maybe_text("what_to_do"),
        needs_limit=block.maybe("needs_limit", bool, False),
        later=block.maybe("later", bool, False),
        optional=block.maybe("optional", bool, False),
        **limits,
        **numbers,
        **names,
    )
    block.close()
    check_reading(block, reading)
    return reading


def check_reading(block: Block, reading: ReadingSpec) -> None:
    if reading.kind is ReadingKind.CHOICE and not set(reading.good) <= set(reading.choices):
        block.fault("good holds a choice that choices does not: add it there, or take it out.", "good")
    if reading.kind is ReadingKind.CHOICE and not reading.good:
        block.fault("no choice is good: name the good ones.", "kind")
    can_be_out = reading.kind in (ReadingKind.YES_NO, ReadingKind.CHOICE, ReadingKind.N_OF_N) or reading.needs_limit
    if can_be_out and not reading.what_to_do:
        block.fault("what_to_do is missing: say what is done when the reading is out of limits.")


def read_site_fact(block: Block) -> SiteFactText:
    fact = SiteFactText(
        name=block.text("name"),
        of=block.choice("of", EQUIPMENT_KINDS),
        write=block.text("write"),
        example=block.text("example"),
        question=block.value("question", int, 0),
        sources=rows_named(block),
        maker=block.optional("maker", bool, False),
    )
    block.reader.define("site fact", fact.name, block, "name")
    block.reader.mention("walk question", str(fact.question), block, "question")
    block.close()
    return fact


def read_walk_question(block: Block) -> WalkQuestion:
    question = WalkQuestion(number=block.value("number", int, 0), ask=block.text("ask"))
    block.reader.define("walk question", str(question.number), block, "number")
    block.close()
    return question


def read_role_set(block: Block) -> RoleSet:
    found = RoleSet(
        name=block.text("name"),
        says=block.text("says"),
        on_top_of=block.names("on_top_of", "role set"),
        procedures=block.names("procedures", "procedure", needed=True),
    )
    block.reader.define("role set", found.name, block, "name")
    block.close()
    return found


def read_stop_rules(block: Block) -> StopRules:
    rules = []
    for each in block.blocks("rules", needed=True):
        rules.append(StopRule(each.value("number", int, 0), each.text("title"), each.text("says")))
        block.reader.define("stop rule", str(rules[-1].number), each, "number")
        each.close()
    return StopRules(block.text("says"), block.texts("acts", needed=True), block.text("then"), tuple(rules))


def read_hands(block: Block) -> Hands:
    lists = {name: block.texts(name, needed=True) for name in ("rules", "stop_unsafe", "common_record")}
    return Hands(title=block.text("title"), **lists)
