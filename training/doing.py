"""Work that is recorded as a fact of its own and counts as doing a procedure, for the idle days: by what the procedure stands for.

A recorded swap is the swap done; a job that was started is the part milled, and its block clamped. Looking at the tub or reading a
dip-slide is neither.
"""

from typing import Any

from clinic.models import JobStarted, ToolMounted
from clinic.rules.roles import ProcedureRole

COUNTS_AS: dict[ProcedureRole, Any] = {
    ProcedureRole.TOOL_SWAP: ToolMounted,
    ProcedureRole.MILLING: JobStarted,
    ProcedureRole.CLAMPING: JobStarted,
}
"""The kind of fact whose rows say that it was done, each with whoever did it."""

SAYS = {
    ProcedureRole.TOOL_SWAP: "each tool that you set in, once it is recorded",
    ProcedureRole.MILLING: "each job that you start, once it is recorded",
    ProcedureRole.CLAMPING: "each job that you start, once it is recorded: its block was clamped",
}
KINDS: tuple[type[Any], ...] = (ToolMounted, JobStarted)


def roles_of(fact: Any) -> list[ProcedureRole]:
    """What the fact counts as doing."""
    return [role for role, model in COUNTS_AS.items() if isinstance(fact, model)]
