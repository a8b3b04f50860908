"""The walk round: what a step needs to know about this place or unit, answered where one stands."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID, uuid5

from django.db import transaction

from clinic import clock
from clinic.models import Equipment, Person, Site, SiteFact, SiteFactValue
from clinic.reads.water_limits import FACT
from clinic.record import Refusal, record, refuse_if


@dataclass(frozen=True, slots=True)
class WalkAnswer:
    """One answer: words, or that it is not used here. With neither, the question stays open."""

    fact: SiteFact
    unit: Equipment | None
    value: str
    not_used: bool

    @property
    def is_answer(self) -> bool:
        return bool(self.value.strip()) or self.not_used


@transaction.atomic
def answer_walk(said: Iterable[WalkAnswer], *, site: Site, by: Person, submission: UUID) -> list[SiteFactValue]:
    """Record every answer that differs from the one in force. The earlier ones stay in the record."""
    now = SiteFactValue.objects.latest_by_fact(site)
    done, said = [], list(said)
    refuse_if(*(limit_refusal(each, now.get((each.fact.pk, each.unit.pk if each.unit else None))) for each in said))
    for each in said:
        before = now.get((each.fact.pk, each.unit.pk if each.unit else None))
        same = before is not None and (before.value, before.not_used) == (words_of(each), each.not_used)
        if each.is_answer and not same:
            done.append(record_one(each, site, by, submission))
    return done


def limit_refusal(said: WalkAnswer, before: SiteFactValue | None) -> Refusal | None:
    """The limit of water is a number with its source, each typed by itself: a text may name a year or a page first."""
    if said.fact.name != FACT or not said.value.strip() or (before and before.value == said.value.strip()):
        return None
    field = f"f{said.fact.pk}-{said.unit.pk if said.unit else 'site'}"
    return Refusal(
        "The limit is typed apart from its source.", "Enter it in Upkeep, Water, “The makers’ limits”.", field
    )


def words_of(said: WalkAnswer) -> str:
    return "" if said.not_used else said.value.strip()


def record_one(said: WalkAnswer, site: Site, by: Person, submission: UUID) -> SiteFactValue:
    value = SiteFactValue(
        id=uuid5(submission, f"{said.fact.pk}:{said.unit.pk if said.unit else ''}"), site=site, happened_on=clock.today(site.time_zone),
        site_fact=said.fact, equipment=said.unit, value=words_of(said), not_used=said.not_used,
    )  # fmt: skip
    return record(value, by=by)
