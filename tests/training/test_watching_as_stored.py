"""Pages ask the stored spans where somebody stands and whether whoever watched could be relied on, and find what the facts say."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from uuid import uuid4

import pytest

from clinic.models import Person
from clinic.port import Work, usable_then
from tests.training.people_scene import TEXT, TODAY
from tests.training.test_finding_spans import Life, refused, scene  # noqa: F401 - the practice that lives
from tests.training.test_spans_of_the_touched import Program, program  # noqa: F401 - watched by whoever it is
from training import gather
from training.gather_near import in_doubt
from training.models import Observation, SignOff, Version, Withdrawal
from training.reads.person import lines_of
from training.reads.plan import Training, plan_rows, training_of
from training.reads.watched import set_aside_of
from training.rules.facts import Observed, PersonFacts, Policy, State
from training.rules.standing import Standing, Stored, evidence_on, same_day_allowed
from training.rules.texts import content_to_json, policy_to_json
from training.spans import computed

pytestmark = [pytest.mark.django_db, pytest.mark.one_database]  # the spans themselves are proved on both


@pytest.mark.parametrize("program", [0, 1, 2, 10], indirect=True)
def test_what_is_read_as_stored_is_what_all_facts_say(program: Program) -> None:  # noqa: F811
    relied = aside = stored = near = drawn = 0
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
            assert out <= doubts and out == {*set_aside_of(program.cast.organisation, people)}
            relied, aside = relied + len(rows - doubts), aside + len(out)
    assert aside and relied, "Nothing was set aside, or nothing relied on."
    assert stored and near > drawn > 0, "Nothing was read as it is stored, or nothing from facts."


@pytest.mark.parametrize("program", [1], indirect=True)
@pytest.mark.parametrize("signed_first", [True, False])
def test_what_was_watched_and_then_put_right_keeps_its_place_before_or_after_a_signature(
    program: Program,  # noqa: F811
    signed_first: bool,
) -> None:
    """Without a time, in the order in which the first of each chain was recorded."""
    who = program.cast.assistant.person
    made = [act(program) for act in ((signed, seen) if signed_first else (seen, signed))]
    first = made[signed_first]
    again = seen(program, corrects=first.pk, reason="The notes were of another day.")
    out = {*set_aside(gather.people_facts(program.cast.organisation, [who]))}
    assert (
        out
        == {*set_aside_of(program.cast.organisation, [who])}
        == (set() if signed_first else {str(first.pk), str(again.pk)})
    )


def seen(program: Program, day: date = TODAY, **more: Any) -> Observation:  # noqa: F811
    noon = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
    return Life.put(
        program, Observation, performance=uuid4(), version=program.scene.versions["P01"], person=program.cast.assistant.person,
        observer=program.cast.second.person, purpose="assessment", method="real", started_at=noon, finished_at=noon, outcome="met",
        day=day, marks=[{"step": "s1", "mark": "alone"}, {"step": "s2", "mark": "alone"}], **more,
    )  # fmt: skip


def signed(program: Program, person: Person | None = None, day: date = TODAY) -> SignOff:  # noqa: F811
    """Whoever watches, or somebody else."""
    return Life.put(
        program, SignOff, person=person or program.cast.second.person, version=program.scene.versions["P01"], signer=program.cast.owner.person,
        signer_name="Hester Vane", meaning="May do it.", statement="", evidence=[], reidentified="passphrase", day=day,
        reidentified_at="2025-03-03T12:00:00Z",
    )  # fmt: skip


MANY = [TODAY + timedelta(days=number) for number in range(gather.FEW_DAYS)]
EVERY_DAY = [date.min, *MANY, date.max]  # of so many all that lies between is read


@pytest.mark.parametrize("program", [2, 10], indirect=True)
def test_what_was_decided_is_found_by_few_days_as_by_many(program: Program) -> None:  # noqa: F811
    for _ in range(30):
        refused(program.random.choice(program.acts))
    people = [person.pk for person in Person.objects.filter(organisation=program.cast.organisation)]
    whole = gather.decided_on(people, EVERY_DAY)
    days = sorted({day for _, day in whole})
    for some in (days[:1], days[1:4], [*days[:2], date.max]):
        expected = {key: sorted(map(repr, rows)) for key, rows in whole.items() if key[1] in some}
        assert {key: sorted(map(repr, rows)) for key, rows in gather.decided_on(people, some).items()} == expected != {}


@pytest.mark.parametrize("program", [1], indirect=True)
@pytest.mark.parametrize("kept_alive", [True, False])
def test_what_was_done_keeps_a_sign_off_alive_for_work_of_the_morning_before_it_was_withdrawn(
    program: Program,  # noqa: F811
    kept_alive: bool,
) -> None:
    who, code = program.cast.assistant.person, "P01"
    policy = Policy(check_asked=False, needed=1, idle_days=15)
    program.scene.versions[code] = Life.put(
        program, Version, procedure=program.scene.procedures[code], number=2, in_force_from=TODAY - timedelta(days=40),
        content=content_to_json(TEXT), policy=policy_to_json(policy), day=TODAY,
    )  # fmt: skip
    signed(program, who, TODAY - timedelta(days=20))
    if kept_alive:
        seen(program, TODAY - timedelta(days=10))
    Life.put(
        program,
        Withdrawal,
        person=who,
        procedure=program.scene.procedures[code],
        day=TODAY,
        happened_at=time(15),
        reason="Unsafe.",
    )
    work = Work(code, who.pk, TODAY, time(9), program.lane.last_recorded_at)  # type: ignore[arg-type]
    then = usable_then(program.cast.organisation, [work])[work]
    assert (then.usable, then.by_time) == (kept_alive, kept_alive)


@pytest.mark.parametrize("program", [2, 10], indirect=True)
def test_work_of_any_time_was_done_by_whoever_the_facts_up_to_then_let_do_it(program: Program) -> None:  # noqa: F811
    """On every day on which anything was decided: at times between, and without one, in the order in which all was recorded."""
    organisation, by_time, not_by_time = program.cast.organisation, set(), 0
    for number in range(60):
        refused(program.random.choice(program.acts))
        if number % 12 == 11:
            people = Person.objects.filter(organisation=organisation)
            programme, facts = gather.programme(organisation), gather.people_facts(organisation, people)
            decided = gather.decided_on([person.pk for person in people], EVERY_DAY)
            made = [fact.recorded_at for rows in decided.values() for _, fact in rows]
            works = [
                Work(code, person, day, at, program.random.choice(made))
                for person, day in decided
                for code in programme
                for at in (None, time(7), time(8), time(9), time(12), time(16))
            ]
            for work, then in usable_then(organisation, works).items():
                mine = (programme, facts[str(work.person)], work.procedure, work.day, work.at)
                assert then.usable is same_day_allowed(*mine, recorded_at=work.recorded_at), (number, work)
                by_time |= {then.usable} if then.by_time else set()
                not_by_time += not then.by_time
    assert by_time == {True, False} and not_by_time, "No time of a day decided."


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
    organisation = next(iter(people)).organisation
    book = gather.Rulebook.of(organisation, gather.programme(organisation), None)
    rows = gather.watched_assessments(gather.FactsWanted([person.pk for person in people]), book)
    return {str(row.id) for row, _ in in_doubt(rows, book)}, {str(row.id) for row in rows}


def set_aside(people: dict[str, PersonFacts]) -> Iterator[str]:
    """The assessments that do not count for who watched them."""
    seen = (fact for facts in people.values() for rows in facts.by_procedure.values() for fact in rows)
    return (fact.id for fact in seen if isinstance(fact, Observed) and fact.set_aside)
