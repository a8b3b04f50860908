"""Names are refused where they are entered, if papers could not print them: of rows that may change, and of facts."""

from collections.abc import Collection, Iterator

from django.db.models import Model

from clinic.models import BlockLot, Equipment, JobRole, MillingTool, Organisation, OutsideWitness, Person, Site
from clinic.record import Refusal
from clinic.rules.letters import SUPPLY, lacks, not_printed

NAMES: dict[type[Model], tuple[str, ...]] = {
    BlockLot: ("lot", "material"),
    Equipment: ("label", "serial"),
    JobRole: ("title",),
    MillingTool: ("code",),
    Organisation: ("name",),
    OutsideWitness: ("printed_name", "qualification", "comes_from"),
    Person: ("given_name", "family_name", "staff_number"),
    Site: ("name", "address", "infection_coordinator"),
}
"""By kind of row, the columns that papers print as the name of something."""


def against_names(row: Model, only: Collection[str] | None = None) -> Iterator[Refusal]:
    """Why the names of a row cannot be kept; of some of its columns, where they are given."""
    for name in NAMES.get(type(row), ()):
        missing = not_printed(getattr(row, name) or "") if only is None or name in only else []
        if missing:
            yield Refusal(lacks(missing), SUPPLY, name)
