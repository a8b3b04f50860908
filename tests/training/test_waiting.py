"""What waits to be stored is read as the facts say, whoever asks, and stored it says the same: in a practice of random facts, some of
which touch so many that they only mark what waits, while a worker stores some of it between them."""

import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, time, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.db.models import Exists, OuterRef
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clinic.models import Person, Site
from clinic.port import Work, usable_then
from tests.training.people_scene import TODAY
from tests.training.test_finding_spans import Life, refused, scene  # noqa: F401 - the practice that lives
from tests.training.test_spans_of_the_touched import Program, program, sign_in  # noqa: F401
from training import computed_now, finding_spans, spans, storing, waiting
from training.models import EvidenceSpan, FindingsKept, Observation, Procedure, SpansWaiting, StandingSpan, Withdrawal
from training.models.read_through import as_stored
from training.reads.findings.misses import open_misses
from training.reads.findings.stored import BESIDE_STANDING, KINDS, all_told, findings
from training.reads.matrix import squares
from training.reads.people import everybody
from training.reads.person import person_page
from training.reads.standing import span_on, usable_on_days, usable_people
from training.reads.who_may import who_may_do, who_may_each

pytestmark = pytest.mark.django_db
DAYS = [TODAY + timedelta(days=n) for n in (-40, -9, -1, 0, 1, 30, 200)]


@pytest.fixture
def nothing_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(waiting, "AT_ONCE", 0)


def rows_read(model: Any, columns: tuple[str, ...]) -> list[Any]:
    return sorted(model.objects.values_list(*columns), key=repr)


def rows_of_facts(program: Program) -> dict[Any, list[Any]]:  # noqa: F811
    organisation, keys = program.cast.organisation, spans.keys_of(program.cast.organisation)
    people = {str(one.pk): one for one in Person.objects.filter(organisation=organisation)}
    told = spans.computed(organisation, people.values())

    def rows_of(model: Any) -> Iterator[Any]:
        for who, standings in told.items():
            for code, standing in standings.items():
                yield from spans.rows_wanted(model, people[who], keys[code], standing)

    return {model: sorted(rows_of(model), key=repr) for model in (StandingSpan, EvidenceSpan)}


def says_what_facts_say(program: Program) -> bool:  # noqa: F811
    facts = rows_of_facts(program)
    return rows_read(StandingSpan, spans.STANDING) == facts[StandingSpan] and (
        rows_read(EvidenceSpan, spans.EVIDENCE) == facts[EvidenceSpan]
    )


@pytest.mark.parametrize("program", [3, 4, 11, 30], indirect=True)
def test_whatever_waits_is_read_as_the_facts_say_and_stored_so(
    program: Program,  # noqa: F811
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    waited = 0
    monkeypatch.setattr(storing, "BATCH", 2)
    for number in range(40):
        monkeypatch.setattr(waiting, "AT_ONCE", program.random.choice((0, 0, 2, 99)))
        act = program.random.choice(program.acts)
        refused(act)
        waited += SpansWaiting.objects.exists()
        assert spans.differences(program.cast.organisation) == [], (number, act)
        assert says_what_facts_say(program), (number, act)
        if program.random.random() < 0.3:
            storing.store_some()
            assert says_what_facts_say(program), (number, "stored")
    assert waited > 10
    told = answers(program)
    storing.store_waiting()
    assert not SpansWaiting.objects.exists()
    assert spans.differences(program.cast.organisation) == []
    assert finding_spans.differences(program.lane) == []
    assert answers(program) == told
    finding_spans.rebuild_waiting()
    assert finding_spans.is_kept(program.lane) and finding_spans.differences(program.lane) == []
    assert answers(program) == told


def answers(program: Program) -> dict[str, Any]:  # noqa: F811
    """What pages read, on days before and after today."""
    lane, organisation = Site.objects.get(pk=program.lane.pk), program.cast.organisation
    people, procedures = list(Person.objects.at_site(lane, TODAY).by_name()), list(Procedure.objects.of(organisation))
    codes = [procedure.code for procedure in procedures]
    works = [Work(code, one.pk, day, None, lane.last_recorded_at) for one in people for code in codes for day in DAYS]  # type: ignore[arg-type]
    return {
        "matrix": [squares(lane, day).squares for day in DAYS],
        "past": [squares(lane, day, lane.last_recorded_at).squares for day in DAYS],
        "who": [[one.says for one in who_may_do(lane, each, day)] for each in procedures for day in DAYS],
        "each": [[one.people for one in who_may_each(lane, procedures, day)] for day in DAYS],
        "one": [span_on(one, each, day) for one in people for each in procedures for day in DAYS],
        "people": [everybody(lane, people, day) for day in DAYS],
        "person": [person_page(lane, one, TODAY).lines for one in people],
        "port": [usable_people(organisation, code, day) for code in codes for day in DAYS],
        "days": usable_on_days(
            organisation, [(code, day) for code in codes for day in DAYS], {one.pk for one in people}
        ),
        "then": usable_then(organisation, works),
        "misses": [row.pk for row in open_misses(lane)],
        "findings": [findings(lane, day) for day in DAYS],
    }


@pytest.mark.parametrize("program", [1], indirect=True)
def test_a_question_inside_another_is_answered_as_the_facts_say(program: Program, nothing_at_once: None) -> None:  # noqa: F811
    sign_in(program, "P01")
    assert not StandingSpan.stored.exists()
    who, what = program.cast.assistant.person, program.scene.procedures["P01"]
    alone = StandingSpan.objects.on(TODAY).usable().filter(person=OuterRef("pk"), procedure=what)
    assert list(Person.objects.filter(Exists(alone))) == [who]
    assert list(Person.objects.filter(pk__in=StandingSpan.objects.on(TODAY).usable().values("person"))) == [who]
    assert StandingSpan.objects.on(TODAY).filter(procedure__code="P01").count() == 1


@pytest.mark.parametrize("program", [1], indirect=True)
def test_only_those_that_a_question_names_are_computed(
    program: Program,  # noqa: F811
    nothing_at_once: None,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """By key, by keys, by a question of its own, by code; what is said of the days narrows nobody."""
    sign_in(program, "P01")
    waiting.mark({one.pk: {"P01", "P04"} for one in Person.objects.all()})
    me, other, what = program.cast.assistant.person, program.cast.second.person, program.scene.procedures["P01"]
    asked: list[set[Any]] = []

    def noted(organisation: int, pairs: set[Any]) -> Iterator[Any]:
        asked.append(pairs)
        return iter(())

    monkeypatch.setattr(computed_now, "computed", noted)
    here = StandingSpan.objects.on(TODAY)
    list(here.filter(person=me, procedure=what))
    list(here.filter(person__in=[me, other], procedure__code="P04"))
    list(here.filter(person__in=Person.objects.filter(pk=other.pk), procedure__in=[what]).filter(usable=True))
    list(here.filter(procedure__code__in=["P01"]).exclude(person=me))
    everybody_here = set(Person.objects.values_list("pk", flat=True))
    assert asked == [
        {(me.pk, "P01")}, {(me.pk, "P04"), (other.pk, "P04")}, {(other.pk, "P01")}, {(who, "P01") for who in everybody_here}
    ]  # fmt: skip


@pytest.mark.parametrize("program", [1], indirect=True)
def test_it_is_computed_once_until_something_is_recorded(
    program: Program,  # noqa: F811
    nothing_at_once: None,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    sign_in(program, "P01")
    who, what = program.cast.assistant.person, program.scene.procedures["P01"]
    times = []
    whole = computed_now.from_facts
    monkeypatch.setattr(computed_now, "from_facts", lambda *asked: [times.append(1), *whole(*asked)][1:])
    assert [span_on(who, what, TODAY).state for _ in range(3)] == ["current"] * 3
    assert len(times) == 1
    Life.put(program, Withdrawal, person=who, procedure=what, signer_name="H. Vane", reason="No.", day=TODAY)
    assert span_on(who, what, TODAY).state == "withdrawn"
    assert len(times) == 2


@pytest.mark.parametrize("program", [1], indirect=True)
def test_a_worker_that_dies_in_the_middle_leaves_all_of_it_waiting(
    program: Program,  # noqa: F811
    nothing_at_once: None,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    sign_in(program, "P01")
    marks = list(SpansWaiting.objects.values_list("pk", "codes"))

    def dies(**_: Any) -> None:
        raise RuntimeError("The power went.")

    monkeypatch.setattr(spans.standing_changed, "send", dies)
    with pytest.raises(RuntimeError):
        storing.store_some()
    assert list(SpansWaiting.objects.values_list("pk", "codes")) == marks
    assert not StandingSpan.stored.exists()
    assert says_what_facts_say(program)
    monkeypatch.undo()
    assert storing.store_waiting() == len({pk for pk, _ in marks})
    assert StandingSpan.stored.exists() and says_what_facts_say(program)


@pytest.mark.parametrize("program", [1], indirect=True)
def test_a_page_asks_once_whether_anything_waits(program: Program) -> None:  # noqa: F811
    who, what = program.cast.assistant.person, program.scene.procedures["P01"]
    with waiting.asked_once(), CaptureQueriesContext(connection) as asked:
        for _ in range(3):
            span_on(who, what, TODAY)
    assert sum("spanswaiting" in each["sql"] for each in asked.captured_queries) == 1


@pytest.mark.parametrize("program", [1], indirect=True)
def test_what_is_marked_while_a_page_is_made_is_read_there(program: Program, monkeypatch: pytest.MonkeyPatch) -> None:  # noqa: F811
    with waiting.asked_once():
        assert not waiting.anything_waits()
        monkeypatch.setattr(waiting, "AT_ONCE", 0)
        sign_in(program, "P01")
        assert waiting.anything_waits()
        assert span_on(program.cast.assistant.person, program.scene.procedures["P01"], TODAY).state == "current"


@pytest.mark.parametrize("program", [1], indirect=True)
def test_a_practice_of_a_few_people_has_it_stored_at_once(program: Program) -> None:  # noqa: F811
    program.revise()
    sign_in(program, "P01")
    assert not SpansWaiting.objects.exists()
    assert StandingSpan.stored.exists()


@pytest.mark.parametrize("program", [1], indirect=True)
def test_what_somebody_watched_waits_with_their_standing(program: Program, nothing_at_once: None) -> None:  # noqa: F811
    """Whoever watched turns out to have been signed before it, and so what they saw counts."""
    watcher, seen_on = program.cast.second.person, TODAY - timedelta(days=3)
    seen = datetime.combine(seen_on, time(10), UTC)
    Life.put(
        program, Observation, performance=uuid4(), version=program.scene.versions["P01"], person=program.cast.assistant.person,
        observer=watcher, purpose="assessment", method="real", started_at=seen, finished_at=seen, outcome="met", day=seen_on,
        marks=[{"step": "s1", "mark": "alone"}, {"step": "s2", "mark": "alone"}],
    )  # fmt: skip
    storing.store_waiting()
    mine = EvidenceSpan.objects.on(seen_on).filter(person=program.cast.assistant.person, procedure__code="P01")
    assert mine.get().evidence == "some"
    sign_in(program, "P01", watcher, seen_on - timedelta(days=2))
    assert mine.get().evidence == "enough"
    storing.store_waiting()
    assert mine.get().evidence == "enough"


@pytest.mark.parametrize("program", [4], indirect=True)
def test_kinds_of_findings_beside_standing_never_ask_for_it(program: Program) -> None:  # noqa: F811
    for _ in range(30):
        refused(program.random.choice(program.acts))
    with CaptureQueriesContext(connection) as asked:
        all_told(program.lane, BESIDE_STANDING)
    assert [each["sql"] for each in asked.captured_queries if "training_standingspan" in each["sql"]] == []
    with CaptureQueriesContext(connection) as asked:
        all_told(program.lane, KINDS.keys() - BESIDE_STANDING)
    assert [each["sql"] for each in asked.captured_queries if "training_standingspan" in each["sql"]]


@pytest.mark.parametrize("program", [1], indirect=True)
def test_a_version_leaves_the_findings_kept_that_rest_on_no_standing(program: Program, nothing_at_once: None) -> None:  # noqa: F811
    program.revise()
    assert SpansWaiting.objects.exists() and FindingsKept.objects.filter(site=program.lane).exists()
    assert not finding_spans.is_kept(program.lane)
    storing.store_waiting()
    assert finding_spans.differences(program.lane) == []


PAGES = (
    "today",
    "matrix",
    "coverage",
    "week_plan",
    "people",
    "who_may",
    "owner",
    "procedures",
    "at_the_mill",
    "going_live",
)
OF_PERSON = ("person", "plan")
OF_BOTH = ("person_procedure", "sign")
MADE_ANEW = re.compile(r'[0-9a-f]{8}-[0-9a-f-]{27}|nonce="[^"]*"|value="[A-Za-z0-9]{64}"')


def said_by_pages(client: Client, program: Program) -> dict[str, str]:  # noqa: F811
    lane = {"site": program.lane.code}
    urls = [reverse(f"training:{name}", kwargs=lane) for name in PAGES]
    for one in Person.objects.at_site(program.lane, TODAY):
        urls += [reverse(f"training:{name}", kwargs={**lane, "person": one.pk}) for name in OF_PERSON]
        for code in program.scene.procedures:
            urls += [reverse(f"training:{name}", kwargs={**lane, "person": one.pk, "code": code}) for name in OF_BOTH]
    urls += [reverse("training:procedure", kwargs={**lane, "code": code}) for code in program.scene.procedures]
    answers = {url: client.get(url) for url in urls}
    assert {answer.status_code for answer in answers.values()} == {200}
    return {url: MADE_ANEW.sub("", answer.content.decode()) for url, answer in answers.items()}


@pytest.mark.parametrize("program", [4, 30], indirect=True)
def test_every_page_says_the_same_before_and_after_the_worker(
    program: Program,  # noqa: F811
    signed_in: Callable[..., Client],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    for _ in range(25):
        refused(program.random.choice(program.acts))
    monkeypatch.setattr(waiting, "AT_ONCE", 0)
    program.revise()
    sign_in(program, "P01")
    client = signed_in(program.cast.owner)
    before = said_by_pages(client, program)
    with as_stored():
        assert said_by_pages(client, program) != before, "what is stored until then is old"
    storing.store_waiting()
    finding_spans.rebuild_waiting()
    assert said_by_pages(client, program) == before
