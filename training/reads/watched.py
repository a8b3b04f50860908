"""Which recorded assessments are no evidence because of who watched them."""

from collections.abc import Collection

from clinic.models import Organisation, Person
from training import gather
from training.rules.facts import Observed, State


def set_aside_of(organisation: Organisation, people: Collection[Person]) -> dict[str, State]:
    """The watcher's own state then, by the id of each assessment of these people that it keeps from counting."""
    found = gather.people_facts(organisation, people)
    facts = (fact for one in found.values() for rows in one.by_procedure.values() for fact in rows)
    return {fact.id: fact.set_aside for fact in facts if isinstance(fact, Observed) and fact.set_aside is not None}
