"""How a fact is put right: the way for whoever looks, or who else may, or what is done instead."""

from dataclasses import dataclass
from datetime import date

from clinic.models import Fact, Person, Seal
from clinic.rights import against_putting_right, who_puts_right
from clinic.rules.words import listed

MOST_NAMES = 5


@dataclass(frozen=True, slots=True)
class PutRight:
    """`may`: whoever looks takes it back. `says`: otherwise in a sentence, how it is put right."""

    fact: Fact
    may: bool
    says: str


def put_right(me: Person, fact: Fact, today: date) -> PutRight:
    """Asked of the policy that records ask, so that the page and the refusal say the same."""
    if Seal.objects.filter(corrects=fact.pk).exists():
        return PutRight(fact, False, "A later record stands in its place, or takes it away.")
    against = against_putting_right(me, fact)
    if against is None:
        return PutRight(fact, True, "")
    names = [person.printed_name for person in who_puts_right(fact, today)]
    if not names:
        return PutRight(fact, False, against)
    more = [f"{len(names) - MOST_NAMES} more"] if len(names) > MOST_NAMES else []
    either = listed([*names[:MOST_NAMES], *more], "or")
    return PutRight(fact, False, f"If it is wrong, {either} may take it back.")
