"""What the procedures and tasks of a library stand for: each role is filled, and by as many as it takes."""

from collections.abc import Iterable, Iterator, Sequence

from clinic.rules.roles import KIND_OF, RETURNED, SEVERAL, ProcedureRole, TaskRole
from training.rules.library_file import Block, LibraryFault
from training.rules.texts import ProcedureText, UpkeepTaskText

TASKS, PROCEDURES = "upkeep.yaml", "procedures"


def read_role(block: Block, roles: Iterable[str]) -> str:
    """What it stands for, where it stands for anything."""
    return block.choice("stands_for", roles) if "stands_for" in block.data else ""


def only_one(block: Block, at: str, name: str, who: str) -> None:
    """Note that it is filled; a second one is a fault."""
    if name in block.reader.known[at]:
        block.fault(f"there are two {who}: change one.", at)
    block.reader.known[at].add(name)


def check_task_role(block: Block, task: UpkeepTaskText) -> None:
    """A task stands for the work at one kind of unit; the second one is a fault where one only may."""
    if not task.stands_for:
        return
    role = TaskRole(task.stands_for)
    if task.equipment_kind != KIND_OF[role]:
        block.fault(f"a {role} is of a {KIND_OF[role]}, and not of a {task.equipment_kind}: correct one.", "stands_for")
    if role not in SEVERAL:
        only_one(block, "stands_for", role, f"tasks that stand for {role}")


def read_returns(block: Block) -> tuple[str, ...]:
    """The kinds of unit that whoever may do the procedure returns to service; each is returned by one procedure."""
    kinds = block.texts("returns")
    for line, kind in block.items("returns", needed=False):
        if kind not in RETURNED:
            block.fault_at(line, f"returns has {kind}: write one of {', '.join(RETURNED)}.")
        else:
            only_one(block, "returns", kind, f"procedures that return a {kind}")
    return kinds


def check_procedure_role(block: Block, text: ProcedureText) -> None:
    if text.stands_for:
        only_one(block, "stands_for", text.stands_for, f"files that stand for {text.stands_for}")


def missing_roles(procedures: Sequence[ProcedureText], tasks: Sequence[UpkeepTaskText]) -> Iterator[LibraryFault]:
    """What nothing in the library stands for."""
    for role in sorted(set(TaskRole) - {task.stands_for for task in tasks}):
        yield LibraryFault(TASKS, 0, f"no task stands for {role}: write “stands_for: {role}” in the one that does.")
    for part in sorted(set(ProcedureRole) - {text.stands_for for text in procedures}):
        yield LibraryFault(
            PROCEDURES, 0, f"no file stands for {part}: write “stands_for: {part}” in the one that does."
        )
    for kind in sorted(set(RETURNED) - {kind for text in procedures for kind in text.returns}):
        yield LibraryFault(
            PROCEDURES, 0, f"no procedure returns a {kind}: write “returns: [{kind}]” in the one that does."
        )
