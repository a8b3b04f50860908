"""Reading the procedure library: one YAML file for each procedure and topic, and beside them what belongs to no single one.

`read_library` gives the whole library, or raises with every fault at once, each with its file and line. The format is
told in the library's own README.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from clinic.rules.roles import ProcedureRole
from clinic.rules.stops import StopRules
from training.rules.content import NO_CRITICAL, has_critical, longest_faults
from training.rules.facts import Policy
from training.rules.library_beside import (
    read_hands,
    read_role_set,
    read_site_fact,
    read_stop_rules,
    read_task,
    read_walk_question,
)
from training.rules.library_file import EQUIPMENT_KINDS, Block, LibraryFault, Reader
from training.rules.library_parts import check_policy, read_content, read_policy, read_sources, read_supervisor_question
from training.rules.library_roles import check_procedure_role, missing_roles, read_returns, read_role
from training.rules.policy import cycles, ring_sentence
from training.rules.step_order import order_faults
from training.rules.texts import (
    Hands,
    ProcedureText,
    Question,
    RoleSet,
    SiteFactText,
    Source,
    UpkeepTaskText,
    WalkQuestion,
)

PROCEDURE_KINDS = ("practice", "topic")


@dataclass(frozen=True, slots=True)
class Library:
    """Everything in the folder. `procedures` holds practice procedures and taught topics, by code; `role_sets` gives the
    codes of each set by its name, without those of the sets it stands on."""

    procedures: tuple[ProcedureText, ...]
    upkeep_tasks: tuple[UpkeepTaskText, ...]
    site_facts: tuple[SiteFactText, ...]
    walk_questions: tuple[WalkQuestion, ...]
    role_sets: Mapping[str, tuple[str, ...]]
    role_set_texts: tuple[RoleSet, ...]
    stop_rules: StopRules
    hands: Hands
    supervisor_questions: tuple[tuple[str, Question], ...]  # (code of the procedure it belongs to, the question)
    sources: tuple[Source, ...]  # every source named anywhere in the library, once, by row


class LibraryFaults(Exception):
    """The library cannot be used. `faults`: every one of them, by file and line."""

    def __init__(self, faults: list[LibraryFault]) -> None:
        super().__init__("\n".join(str(fault) for fault in faults))
        self.faults = faults


def read_library(folder: Path) -> Library:
    """Raises LibraryFaults."""
    reader = Reader(folder)
    defaults = read_defaults(reader)
    found = [read_procedure(reader.open(name), defaults) for name in procedure_files(folder)]
    library = gathered(reader, tuple(sorted((text for text, _ in found), key=lambda text: text.code)))
    faults = [*reader.faults, *reader.unknown(), *ring_faults(found), *set_faults(found, library)]
    questions = [question for text, _ in found for question in text.content.questions]
    faults += missing_roles(library.procedures, library.upkeep_tasks)
    faults += [LibraryFault("procedures", 0, says) for says in longest_faults(questions)]
    if faults:
        raise LibraryFaults(sorted(set(faults)))
    return library


def procedure_files(folder: Path) -> list[str]:
    """The files of procedures and topics, relative to the folder."""
    paths = [*(folder / "procedures").glob("*.yaml"), *(folder / "topics").glob("*.yaml")]
    return sorted(path.relative_to(folder).as_posix() for path in paths)


def gathered(reader: Reader, procedures: tuple[ProcedureText, ...]) -> Library:
    """The procedures with what stands beside them."""
    upkeep, places = reader.open("upkeep.yaml"), reader.open("site_facts.yaml")
    sets, stops, law = (reader.open(f"{name}.yaml") for name in ("role_sets", "stop_rules", "supervisor_questions"))
    hands = reader.open("hands.yaml")
    sources = [source for block in (upkeep, places, stops, law, hands) for source in read_sources(block)]
    for block in (upkeep, law):
        block.maybe_text("note")
    texts = tuple(read_role_set(block) for block in sets.blocks("role_sets", needed=True))
    library = Library(
        procedures=procedures,
        upkeep_tasks=tuple(read_task(block) for block in upkeep.blocks("tasks", needed=True)),
        site_facts=tuple(read_site_fact(block) for block in places.blocks("facts", needed=True)),
        walk_questions=tuple(read_walk_question(block) for block in places.blocks("questions", needed=True)),
        role_sets={text.name: text.procedures for text in texts},
        role_set_texts=texts,
        stop_rules=read_stop_rules(stops),
        hands=read_hands(hands),
        supervisor_questions=tuple(read_supervisor_question(block) for block in law.blocks("questions", needed=True)),
        sources=unique_sources([*sources, *(source for text in procedures for source in text.content.sources)]),
    )
    for block in (upkeep, places, sets, stops, law, hands):
        block.close()
    return library


def unique_sources(sources: list[Source]) -> tuple[Source, ...]:
    return tuple({source.row: source for source in sorted(sources, key=lambda source: source.row)}.values())


def read_defaults(reader: Reader) -> Policy:
    """What every policy of the library starts from."""
    block = reader.open("defaults.yaml")
    policy = read_policy(block.block("policy"), Policy())
    block.close()
    return policy


def read_procedure(block: Block, defaults: Policy) -> tuple[ProcedureText, Block]:
    """The procedure, and the block that its lines are in."""
    asks = block.block("policy")
    text = ProcedureText(
        code=block.text("code"),
        title=block.text("title"),
        area=block.text("area"),
        kind=block.choice("kind", PROCEDURE_KINDS),
        equipment_kind=block.choice("equipment_kind", EQUIPMENT_KINDS),
        content=read_content(block),
        policy=read_policy(asks, defaults),
        role_sets=block.names("role_sets", "role set"),
        stands_for=read_role(block, ProcedureRole),
        returns=read_returns(block),
    )
    block.reader.define("procedure", text.code, block, "code")
    block.close()
    check_policy(asks, text.policy, text.content)
    check_kind(block, text)
    check_procedure_role(block, text)
    return text, block


def check_kind(block: Block, text: ProcedureText) -> None:
    """A procedure is watched by its steps, which are in a safe order; a topic has none."""
    steps = text.content.steps
    for says in () if block.faulty else order_faults(steps):
        block.fault(says, "steps")
    if text.kind == "practice" and not has_critical(steps) and not block.unreadable:
        block.fault(NO_CRITICAL, "steps")
    if text.kind == "topic" and steps:
        block.fault("a topic has steps, but is taught, not watched: move them to contents.", "steps")


def ring_faults(found: list[tuple[ProcedureText, Block]]) -> Iterator[LibraryFault]:
    """Procedures that rest on each other, at the prerequisites of the first of the ring."""
    blocks = {text.code: block for text, block in found}
    edges = {(text.code, needed) for text, _ in found for needed in text.policy.prerequisites}
    for ring in cycles(edges):
        block = blocks[ring[0]]
        yield LibraryFault(block.file, block.block("policy").line_of("prerequisites"), ring_sentence(ring))


def set_faults(found: list[tuple[ProcedureText, Block]], library: Library) -> Iterator[LibraryFault]:
    """A procedure and a role set must name each other."""
    for text, block in found:
        listed = {name for name, codes in library.role_sets.items() if text.code in codes}
        for name in sorted(listed ^ (set(text.role_sets) & set(library.role_sets))):
            where = "role_sets.yaml" if name in text.role_sets else block.file
            says = f"{text.code} and role set {name} do not both name each other: add it in {where}, or take it out."
            yield LibraryFault(block.file, block.line_of("role_sets"), says)
