"""Pages ask the stored spans whether whoever watched could be relied on, and find what the facts of whoever watched say."""

from collections.abc import Collection, Iterator

import pytest

from clinic.models import Person
from tests.training.people_scene import TODAY
from tests.training.test_finding_spans import refused, scene  # noqa: F401 - the practice that lives
from tests.training.test_spans_of_the_touched import Program, program  # noqa: F401 - watched by whoever it is
from training import gather
from training.reads.plan import training_of
from training.rules.facts import Observed, PersonFacts
from training.spans import computed

pytestmark = [pytest.mark.django_db, pytest.mark.one_database]  # the spans themselves are proved on both


@pytest.mark.parametrize("program", [0, 1, 2, 10], indirect=True)
def test_what_the_stored_spans_say_of_watchers_is_what_their_facts_say(program: Program) -> None:  # noqa: F811
    doubted = relied = aside = 0
    for number in range(60):
        refused(program.random.choice(program.acts))
        if number % 6 == 5:
            people = list(Person.objects.filter(organisation=program.cast.organisation))
            whole = computed(program.cast.organisation, people)
            for person in people:
                assert training_of(person, TODAY).standings == whole[str(person.pk)], (number, person)
            doubts, rows = asked(people)
            out = {*set_aside(gather.people_facts(program.cast.organisation, people))}
            assert out <= doubts
            doubted, relied, aside = doubted + len(doubts), relied + len(rows - doubts), aside + len(out)
    assert aside and relied and doubted > aside, "Nothing was set aside, or nothing relied on."


def asked(people: Collection[Person]) -> tuple[set[str], set[str]]:
    """Of these people the assessments in doubt, and all that somebody of the practice watched."""
    rows = gather.watched_assessments(gather.FactsWanted([person.pk for person in people]))
    return {str(row[0]) for row in gather.in_doubt(rows)}, {str(row[0]) for row in rows}


def set_aside(people: dict[str, PersonFacts]) -> Iterator[str]:
    """The assessments that do not count for who watched them."""
    seen = (fact for facts in people.values() for rows in facts.by_procedure.values() for fact in rows)
    return (fact.id for fact in seen if isinstance(fact, Observed) and fact.set_aside)
