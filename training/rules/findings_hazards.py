"""A finding about a hazard class that came new and was not taught in time."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from clinic.rules.chemicals import NewHazard
from clinic.rules.findings import Finding, Weight, finding_key
from clinic.rules.wording import counted, plain_day


@dataclass(frozen=True, slots=True)
class Untaught:
    """A new hazard with the names of those who are still to be taught, and the topic in words."""

    hazard: NewHazard
    topic: str
    names: tuple[str, ...]


def new_hazards_untaught(untaught: Iterable[Untaught], today: date) -> list[Finding]:
    """From the day after the last good day for teaching it, while anybody is left."""
    return [_untaught(one) for one in untaught if one.names and one.hazard.teach_by < today]


def _untaught(one: Untaught) -> Finding:
    hazard, since = one.hazard, one.hazard.teach_by + timedelta(days=1)
    return Finding(
        finding_key("new hazard untaught", hazard.id, since),
        Weight.FIX,
        "new hazard untaught",
        hazard.product,
        (hazard.id,),
        since,
        f"{hazard.product}: new here since {plain_day(hazard.since)} ({', '.join(hazard.classes)}), and "
        f"{counted(len(one.names), 'person', 'people')} not taught about it: {', '.join(one.names)}.",
        f"A taught session ({one.topic}) that they attend, with its record whole, ends it.",
    )
