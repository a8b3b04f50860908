"""After every fact only what it touches is written anew, and still all that is stored is what a whole rebuild would store: in
a practice of random facts, some days late, some past the policy, some taken back, with versions and retirements between."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from uuid import uuid4

import pytest

from clinic.models import UpkeepEntry, UpkeepTask, Voiding
from tests.training.people_scene import TEXT, TODAY, Scene, noon
from tests.training.test_finding_spans import Life, refused, scene  # noqa: F401 - the practice that lives
from training import finding_spans, spans
from training.models import (
    EvidenceSpan,
    FindingSpan,
    Observation,
    Retirement,
    SignOff,
    StandingSpan,
    Version,
    Withdrawal,
)
from training.rules.facts import Policy
from training.rules.texts import content_to_json, policy_to_json

pytestmark = pytest.mark.django_db
RESTS_ON = {"P01": (), "P04": ("P01",), "P03": ("P04",)}


class Program(Life):
    """What decides standing, and now and then another version or a retirement."""

    def __init__(self, scene: Scene, seed: int) -> None:  # noqa: F811
        super().__init__(scene, seed)
        self.acts = [
            self.sign, self.sign, self.sign, self.withdraw, self.watch, self.watch_by, self.watch_by, self.miss, self.grant, self.carry, self.found,
            self.session, self.swap, self.job, self.upkeep, self.void, self.void, self.revise, self.retire,
        ]  # fmt: skip

    def put(self, model: Any, /, **more: Any) -> Any:
        """At a time of the day, as often as not: in the order of a day somebody may be usable who is not at its end."""
        hour = self.random.choice((None, None, 8, 11, 15))
        return super().put(model, happened_at=time(hour) if hour else None, **more)

    def watch_by(self) -> None:
        """By whoever it is, whether they can be relied on or not."""
        person, observer, day = self.who(), self.who(), self.day()
        seen = datetime(day.year, day.month, day.day, 10, tzinfo=UTC)
        if observer != person:
            self.put(
                Observation, performance=uuid4(), version=self.scene.versions[self.code()], person=person, observer=observer,
                purpose="assessment", method="real", started_at=seen, finished_at=seen, outcome="met", day=day,
                marks=[{"step": "s1", "mark": "alone"}, {"step": "s2", "mark": "alone"}],
            )  # fmt: skip

    def revise(self) -> None:
        """Stricter or laxer, and resting on something else or on nothing."""
        code = self.code()
        before = Version.objects.filter(procedure=self.scene.procedures[code]).order_by("number").last()
        assert before is not None
        policy = Policy(
            check_asked=False, needed=1, idle_days=self.random.choice((None, 15, 60)), notice_days=5,
            reobserve_days=self.random.choice((None, 10)), first_year_months=self.random.choice((None, 1)),
            prerequisites=RESTS_ON[code] if self.random.random() < 0.7 else (),
        )  # fmt: skip
        self.scene.versions[code] = self.put(
            Version, procedure=self.scene.procedures[code], number=before.number + 1, in_force_from=max(before.in_force_from, self.day()),
            content=content_to_json(TEXT), policy=policy_to_json(policy), day=TODAY,
        )  # fmt: skip

    def retire(self) -> None:
        if self.random.random() < 0.3:
            self.put(Retirement, procedure=self.scene.procedures[self.code()], reason="No longer done.")


@pytest.fixture
def program(scene: Scene, request: pytest.FixtureRequest) -> Iterator[Program]:  # noqa: F811
    with noon():
        yield Program(scene, request.param)


@pytest.mark.parametrize("program", [0, 1, 2, 10], indirect=True)
def test_what_is_stored_after_every_fact_is_what_a_whole_rebuild_would_store(program: Program) -> None:
    for number in range(50):
        act = program.random.choice(program.acts)
        refused(act)
        assert spans.differences(program.cast.organisation) == [], (number, act)
    assert StandingSpan.objects.usable().exists()


@pytest.mark.parametrize("program", [1], indirect=True)
def test_a_retirement_lets_go_of_what_rested_on_it(program: Program) -> None:
    """Nobody's days of working alone in the retired one change, and those in what rests on it do."""
    who = program.cast.assistant.person
    sign_in(program, "P04")
    day = TODAY + timedelta(days=1)
    p04 = StandingSpan.objects.on(day).filter(person=who, procedure=program.scene.procedures["P04"])
    assert p04.get().state == "on hold"
    program.put(Retirement, procedure=program.scene.procedures["P01"], reason="No longer done.", day=TODAY)
    assert p04.get().state == "current"


def sign_in(program: Program, code: str, person: Any = None, day: date = TODAY) -> None:
    program.put(
        SignOff, person=person or program.cast.assistant.person, version=program.scene.versions[code], signer=program.cast.owner.person,
        signer_name="Hester Vane", meaning="May do it.", statement="", evidence=[], reidentified="passphrase",
        day=day, reidentified_at="2025-03-03T12:00:00Z",
    )  # fmt: skip


@pytest.mark.parametrize("program", [1], indirect=True)
def test_work_moves_the_day_from_which_evidence_is_asked_anew(program: Program) -> None:
    """It keeps the sign-off alive; and twelve months after that one ended it is a first sign-off again, on all evidence."""
    who, watcher = program.cast.assistant.person, program.cast.second.person
    policy = Policy(
        check_asked=False, needed=1, idle_days=60, window_days=900, first_year_months=None, upkeep_covered=("U90",)
    )
    program.scene.versions["P01"] = Life.put(
        program, Version, procedure=program.scene.procedures["P01"], number=2, in_force_from=TODAY - timedelta(days=60),
        content=content_to_json(TEXT), policy=policy_to_json(policy), day=TODAY,
    )  # fmt: skip
    sign_in(program, "P01", watcher, TODAY - timedelta(days=50))
    seen = datetime(TODAY.year, TODAY.month, TODAY.day, 10, tzinfo=UTC) - timedelta(days=40)
    Life.put(
        program, Observation, performance=uuid4(), version=program.scene.versions["P01"], person=who, observer=watcher,
        purpose="assessment", method="real", started_at=seen, finished_at=seen, outcome="met", day=seen.date(),
        marks=[{"step": "s1", "mark": "alone"}, {"step": "s2", "mark": "alone"}],
    )  # fmt: skip
    sign_in(program, "P01", who, TODAY - timedelta(days=30))
    evidence = (
        EvidenceSpan.objects.filter(person=who, procedure__code="P01")
        .order_by("first")
        .values_list("first", "evidence")
    )
    before = list(evidence)
    Life.put(
        program, UpkeepEntry, task=UpkeepTask.objects.get(code="U90"), equipment=program.cast.unit, done_by=who, readings={}, day=TODAY,
    )  # fmt: skip
    assert list(evidence.all()) != before
    assert spans.differences(program.cast.organisation) == []


@pytest.mark.parametrize("program", [1], indirect=True)
@pytest.mark.parametrize("afternoon", ["withdrawn", "signed"])
def test_late_work_is_heard_of_in_the_morning_of_a_day_on_which_something_was_decided(
    program: Program, afternoon: str
) -> None:
    """Idle since the day before, whoever works and watches in the morning may not work alone. Work of an earlier day lets them,
    until something is decided in the afternoon, though every day ends as it did."""
    who, watcher, day = program.cast.assistant.person, program.cast.second.person, TODAY - timedelta(days=5)
    policy = Policy(check_asked=False, needed=1, idle_days=10, window_days=900, upkeep_covered=("U90",))
    program.scene.versions["P01"] = Life.put(
        program, Version, procedure=program.scene.procedures["P01"], number=2, in_force_from=TODAY - timedelta(days=40),
        content=content_to_json(TEXT), policy=policy_to_json(policy), day=TODAY,
    )  # fmt: skip
    sign_in(program, "P01", watcher, day - timedelta(days=11))
    if afternoon == "withdrawn":
        Life.put(
            program, Withdrawal, person=watcher, procedure=program.scene.procedures["P01"], signer_name="Hester Vane",
            reason="Not now.", day=day, happened_at=time(15),
        )  # fmt: skip
    else:
        Life.put(
            program, SignOff, person=watcher, version=program.scene.versions["P01"], signer=program.cast.owner.person,
            signer_name="Hester Vane", meaning="May do it.", statement="", evidence=[], reidentified="passphrase", day=day,
            happened_at=time(15), reidentified_at="2025-03-03T12:00:00Z",
        )  # fmt: skip
    seen = datetime(day.year, day.month, day.day, 10, tzinfo=UTC)
    Life.put(
        program, Observation, performance=uuid4(), version=program.scene.versions["P01"], person=who, observer=watcher,
        purpose="assessment", method="real", started_at=seen, finished_at=seen, outcome="met", day=day, happened_at=time(10),
        marks=[{"step": "s1", "mark": "alone"}, {"step": "s2", "mark": "alone"}],
    )  # fmt: skip
    morning = swept(program, watcher, day, time(10))
    finding_spans.rebuild(program.cast.lane)
    evidence = EvidenceSpan.objects.filter(person=who, procedure__code="P01", evidence="enough")
    found = FindingSpan.objects.filter(kind="work", subject=str(morning.pk))
    stood = list(StandingSpan.objects.filter(person=watcher).values())
    assert (evidence.exists(), found.exists()) == (False, True)
    swept(program, watcher, day - timedelta(days=3), None)
    assert (evidence.exists(), found.exists()) == (True, False)
    assert list(StandingSpan.objects.filter(person=watcher).values()) == stood
    assert spans.differences(program.cast.organisation) == finding_spans.differences(program.cast.lane) == []


def swept(program: Program, who: Any, day: date, at: time | None) -> UpkeepEntry:
    task = UpkeepTask.objects.get(code="U90")
    return Life.put(
        program, UpkeepEntry, task=task, equipment=program.cast.unit, done_by=who, readings={}, day=day, happened_at=at
    )


@pytest.mark.parametrize("program", [1], indirect=True)
def test_a_version_taken_back_is_heard_of_in_the_morning_of_a_day_on_which_something_was_decided(
    program: Program,
) -> None:
    """Its deadline had passed the day before, so whoever worked in the morning might not do it alone."""
    who, day, p01 = program.cast.second.person, TODAY - timedelta(days=5), program.scene.procedures["P01"]
    sign_in(program, "P01", who, day - timedelta(days=30))
    policy = Policy(check_asked=False, needed=1, reobserve_days=10, upkeep_covered=("U90",))
    newer = Life.put(
        program, Version, procedure=p01, number=2, in_force_from=day - timedelta(days=11),
        content=content_to_json(TEXT), policy=policy_to_json(policy), day=day - timedelta(days=11),
    )  # fmt: skip
    Life.put(
        program, Withdrawal, person=who, procedure=p01, signer_name="Hester Vane", reason="Not now.", day=day,
        happened_at=time(15),
    )  # fmt: skip
    morning = swept(program, who, day, time(10))
    finding_spans.rebuild(program.cast.lane)
    found = FindingSpan.objects.filter(kind="work", subject=str(morning.pk))
    assert found.exists()
    Life.put(program, Voiding, corrects=newer.pk, reason="It was not approved.", day=TODAY)
    assert finding_spans.differences(program.cast.lane) == spans.differences(program.cast.organisation) == []
    assert not found.exists()
