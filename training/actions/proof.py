"""Who signs, proved again; and the signature of a fact that has no room for one of its own."""

from dataclasses import dataclass
from datetime import datetime
from uuid import uuid5

from clinic import clock
from clinic.models import Fact, Person
from clinic.record import record
from training.models import Signature

BESIDE = "signature"


@dataclass(frozen=True, slots=True)
class Proved:
    """How and when the signer proved again who they are (rows E-13, E-19)."""

    how: str
    at: datetime


def sign_beside(fact: Fact, meaning: str, *, by: Person, proved: Proved) -> Signature:
    """The signature of a fact that was just recorded. Called in the transaction that records it."""
    earlier = Signature.objects.filter(signs=fact.pk).first()
    if earlier:
        return earlier
    return record(
        Signature(
            id=uuid5(fact.pk, BESIDE),
            site=fact.site,
            happened_on=clock.today(fact.site.time_zone),
            happened_at=clock.time_of_day(fact.site.time_zone),
            signs=fact.pk,
            signer_name=by.printed_name,
            meaning=meaning,
            reidentified=proved.how,
            reidentified_at=proved.at,
        ),
        by=by,
    )
