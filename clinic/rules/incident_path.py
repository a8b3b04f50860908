"""What follows an event: which acts, whether it belongs to the log of sharps injuries, and what must be reported by when.

Nothing here asks who it was, and nothing here touches anybody's standing.
"""

from dataclasses import dataclass

SHARPS = "sharps injury"
NEAR_MISS = "near miss"


@dataclass(frozen=True, slots=True)
class Path:
    """The acts in order, and whether the event stands in the log of sharps injuries (O-09)."""

    acts: tuple[str, ...]
    in_log: bool


FIRST_AID = "Wash the place with soap and water; flush eyes or mouth with water. Do not squeeze."
AT_ONCE = (
    "Go to the named clinician or urgent care now: an evaluation after exposure is offered at once and free (O-19)."
)
URGENT = "A deep cut, a piece in it, lost feeling, a joint or a tendon: go to urgent care, whatever it touched."
MAKE_SAFE = "Make the place safe: find the piece, and take the unit out of service where it was the cause."
TELL = "Tell the supervisor. Medical detail stays with the clinician; the register has no field for it."
REVIEW = "Look at the procedure and the place, and write down what is changed."


def path_of(kind: str, contaminated: str) -> Path:
    """A contaminated sharp, or one that may be, is an exposure; a clean one is a cut. A near miss is only looked at."""
    if kind == NEAR_MISS:
        return Path((MAKE_SAFE, REVIEW), in_log=False)
    exposed = kind == SHARPS and contaminated != "no"
    return Path((FIRST_AID, *((AT_ONCE,) if exposed else ()), URGENT, TELL, MAKE_SAFE, REVIEW), in_log=exposed)


CAUSES = (
    "place, light or way",
    "tool, unit or its guard",
    "a step missing or unclear in the procedure",
    "protective equipment missing or not fit",
    "cleaning away and counting",
    "haste or interruption",
    "teaching of the procedure",
    "not found yet",
)
"""What an event may have come from: never a person. Common practice, no source."""
