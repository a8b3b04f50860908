"""A finding about a hazard class that came new and was not taught in time."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from clinic.rules.chemicals import NewHazard
from clinic.rules.findings import DAY, Days, Finding, Stretch, Weight, finding_key, runs, together
from clinic.rules.words import counted, day_words


@dataclass(frozen=True, slots=True)
class Untaught:
    """A new hazard and the topic in words, with everybody who was to be taught by name, and on which days each still was."""

    hazard: NewHazard
    topic: str
    waiting: Sequence[tuple[str, Sequence[Days]]]


def new_hazards_untaught(untaught: Iterable[Untaught]) -> list[Finding]:
    """From the day after the last good day for teaching it, while anybody is left; a part for each change of who is."""
    return [part for one in untaught for run in runs(_left(one)) for part in _parts(one, run)]


def _left(one: Untaught) -> list[Stretch[tuple[str, ...]]]:
    late = one.hazard.teach_by + DAY
    named = together({f"{n:06}": days for n, (_, days) in enumerate(one.waiting)})
    found = [(max(first, late), after, tuple(one.waiting[int(n)][0] for n in left)) for first, after, left in named]
    return [part for part in found if part[1] is None or part[0] < part[1]]


def _parts(one: Untaught, run: Sequence[Stretch[tuple[str, ...]]]) -> list[Finding]:
    hazard, since = one.hazard, run[0][0]
    return [
        Finding(
            finding_key("new hazard untaught", hazard.id, since),
            Weight.FIX,
            "new hazard untaught",
            hazard.product,
            (hazard.id,),
            since,
            f"{hazard.product}: new here since {day_words(hazard.since)} ({', '.join(hazard.classes)}), and "
            f"{counted(len(names), 'person', 'people')} not taught about it: {', '.join(names)}.",
            f"A taught session ({one.topic}) that they attend, with its record whole, ends it.",
            first,
            after,
        )
        for first, after, names in run
    ]
