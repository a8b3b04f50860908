"""Hazard classes of the chemicals at a site, and which of them came new after the register started.

A new hazard class asks for teaching; a new product whose classes were all here before does not (29 CFR 1910.1200(h)(1)).
The data sheets, the makers' instructions and local rules come first.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

HEALTH = (
    "acute toxicity",
    "skin corrosion or irritation",
    "serious eye damage or eye irritation",
    "respiratory or skin sensitisation",
    "germ cell mutagenicity",
    "carcinogenicity",
    "reproductive toxicity",
    "specific target organ toxicity",
    "aspiration hazard",
    "simple asphyxiant",
)
"""Health hazards of 29 CFR 1910.1200, Appendix A; from memory."""

PHYSICAL = (
    "explosive",
    "flammable gas",
    "aerosol",
    "oxidising gas",
    "gas under pressure",
    "flammable liquid",
    "flammable solid",
    "self-reactive",
    "pyrophoric",
    "self-heating",
    "flammable gas in contact with water",
    "oxidising liquid or solid",
    "organic peroxide",
    "corrosive to metals",
    "combustible dust",
    "hazard not otherwise classified",
)
"""Physical hazards of 29 CFR 1910.1200, Appendix B, some taken together, and its two further names; from memory."""

TEACH_WITHIN = timedelta(days=7)
"""Days after which a new class that nobody taught is a finding. Our own choice: the rule asks for it at once."""


@dataclass(frozen=True, slots=True)
class ListedProduct:
    """A product at a place. `since`: its first day; `after`: the first day it was not here any more (None: it is here)."""

    id: str
    since: date
    product: str
    classes: tuple[str, ...]
    after: date | None = None

    def is_here_on(self, day: date) -> bool:
        return self.since <= day and (self.after is None or day < self.after)


@dataclass(frozen=True, slots=True)
class NewHazard:
    """Classes that came to a site with one product, and were never there before."""

    id: str
    since: date
    product: str
    classes: tuple[str, ...]

    @property
    def teach_by(self) -> date:
        """The last good day for teaching it."""
        return self.since + TEACH_WITHIN


def new_hazards(listed: Sequence[ListedProduct], register_start: date) -> list[NewHazard]:
    """Each class once, with the first product that brought it, oldest first.

    What was here when the register started is part of everybody's first teaching and never new; nor is a class that
    comes back.
    """
    known: set[str] = set()
    found = []
    for one in sorted(listed, key=lambda each: each.since):
        fresh = tuple(name for name in dict.fromkeys(one.classes) if name not in known)
        known.update(fresh)
        if fresh and one.since > register_start:
            found.append(NewHazard(one.id, one.since, one.product, fresh))
    return found
