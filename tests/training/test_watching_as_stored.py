"""Pages ask the stored spans where somebody stands and whether whoever watched could be relied on, and find what the facts say."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import replace

import pytest

from clinic.models import Person
from tests.training.people_scene import TODAY
from tests.training.test_finding_spans import refused, scene  # noqa: F401 - the practice that lives
from tests.training.test_spans_of_the_touched import Program, program  # noqa: F401 - watched by whoever it is
from training import gather
from training.reads.person import lines_of
from training.reads.plan import Training, plan_rows, training_of
from training.rules.facts import Observed, PersonFacts, State
from training.rules.standing import Standing, Stored, evidence_on
from training.spans import computed

pytestmark = [pytest.mark.django_db, pytest.mark.one_database]  # the spans themselves are proved on both


@pytest.mark.parametrize("program", [0, 1, 2, 10], indirect=True)
def test_what_is_read_as_stored_is_what_all_facts_say(program: Program) -> None:  # noqa: F811
    doubted = relied = aside = stored = near = drawn = 0
    for number in range(60):
        refused(program.random.choice(program.acts))
        if number % 6 == 5:
            people = list(Person.objects.filter(organisation=program.cast.organisation))
            whole = computed(program.cast.organisation, people)
            for person in people:
                page = training_of(person, TODAY, of=[("P01", "P03", "P04")[number // 6 % 3]])
                slow = replace(page, standings=whole[str(person.pk)])
                as_stored = {code for code, each in page.standings.items() if type(each) is not Standing}
                assert told(page, as_stored) == told(slow, as_stored), (number, person)
                assert evidence(page) == {code: evidence(slow)[code] for code in evidence(page)}, (number, person)
                assert plan_rows(page) == plan_rows(slow), (number, person)
                assert [line.says + line.more for line in lines_of(page)] == [
                    line.says + line.more for line in lines_of(slow)
                ]
                stored += sum(isinstance(each, Stored) for each in page.standings.values())
                near, drawn = near + len(evidence(page)), drawn + len(page.standings) - len(as_stored)
            doubts, rows = asked(people)
            out = {*set_aside(gather.people_facts(program.cast.organisation, people))}
            assert out <= doubts
            doubted, relied, aside = doubted + len(doubts), relied + len(rows - doubts), aside + len(out)
    assert aside and relied and doubted > aside, "Nothing was set aside, or nothing relied on."
    assert stored and near > drawn > 0, "Nothing was read as it is stored, or nothing from facts."


def evidence(training: Training) -> dict[str, object]:
    """Of the day, wherever facts were read."""
    found = {code: each for code, each in training.standings.items() if isinstance(each, Standing)}
    return {code: evidence_on(each, training.day) for code, each in found.items()}


def told(training: Training, as_stored: Collection[str]) -> Mapping[str, object]:
    """All that each standing tells; of what is read as it is stored its spans, and of untrained days at the beginning, or
    where no facts were read, no cause."""
    return {
        code: [replace(span, cause=None) if span.state is State.UNTRAINED else span for span in each.spans]
        if code in as_stored or isinstance(each, Stored)
        else each.told
        for code, each in training.standings.items()
    }


def asked(people: Collection[Person]) -> tuple[set[str], set[str]]:
    """Of these people the assessments in doubt, and all that somebody of the practice watched."""
    rows = gather.watched_assessments(gather.FactsWanted([person.pk for person in people]))
    return {str(row[0]) for row in gather.in_doubt(rows)}, {str(row[0]) for row in rows}


def set_aside(people: dict[str, PersonFacts]) -> Iterator[str]:
    """The assessments that do not count for who watched them."""
    seen = (fact for facts in people.values() for rows in facts.by_procedure.values() for fact in rows)
    return (fact.id for fact in seen if isinstance(fact, Observed) and fact.set_aside)
