"""Stored findings are what the facts say, whatever is recorded, late, taken back or changed; and they answer for a period."""

from collections.abc import Callable
from contextlib import suppress
from datetime import date, timedelta
from random import Random
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clinic import clock
from clinic.actions.people import end_role, give_role, job_role
from clinic.actions.readings import DoneTask, log_work
from clinic.models import (
    BlockLot,
    ChemicalListed,
    Closure,
    Equipment,
    Fact,
    JobEnded,
    JobStarted,
    MillingTool,
    OutOfService,
    RoleHeld,
    Safeguard,
    Seal,
    SiteFact,
    SiteFactValue,
    TaskSetting,
    ToolMounted,
    ToolRemoved,
    UpkeepTask,
    Use,
    Voiding,
)
from clinic.record import Refused, record
from clinic.rules.chemicals import HEALTH, PHYSICAL
from clinic.rules.findings import Weight
from clinic.seals import row_of
from tests.cast import REGISTER_START, Cast
from tests.training.people_scene import TODAY, Scene, carried, founded, noon, set_scene, watched
from training.actions.findings import check_seals, correct
from training.actions.requirements import require
from training.finding_spans import differences, rebuild
from training.models import (
    Attendance,
    Authority,
    CriticalMissAnswer,
    FindingsKept,
    FindingSpan,
    Observation,
    Procedure,
    SessionTopic,
    SignOff,
    TaughtSession,
    Version,
    Withdrawal,
)
from training.reads.binder.gather import finding_row
from training.reads.findings.stored import computed, findings, findings_in, weights_on
from training.rules.facts import Policy
from training.rules.findings_closed import counts
from training.rules.texts import Content, Source, Step, content_to_json, policy_to_json

DAY = timedelta(days=1)


@pytest.fixture
def scene(cast: Cast) -> Any:
    with noon():
        scene = set_scene(cast)
        UpkeepTask.objects.create(
            code="U90",
            title="Chamber clean",
            equipment_kind="milling unit",
            covered_by="P01",
            every_days=9,
            every_units=8,
        )
        UpkeepTask.objects.create(
            code="U10", stands_for="spore test", title="Spore test", equipment_kind="steriliser", every_days=7
        )
        UpkeepTask.objects.create(
            code="U09", stands_for="driver check", title="Check", equipment_kind="torque driver", every_days=20
        )
        for kind in ("steriliser", "torque driver"):
            Equipment.objects.create(site=cast.lane, kind=kind, label=kind, in_service_from=REGISTER_START)
        MillingTool.objects.create(site=cast.lane, code="T1", kind="fluted", seat="hex", life=9)
        MillingTool.objects.create(site=cast.lane, code="T2", kind="fluted", seat="hex", life=9, life_unit="minutes")
        BlockLot.objects.create(site=cast.lane, lot="L1", material="polymer or wax", received_on=REGISTER_START)
        SiteFact.objects.create(name="lamp", of="site", ask="Which?", question=1)
        text = Content(
            purpose="To know them.", steps=(Step("s1", "Look under the {lamp}"),), sources=(Source("O-24", "V"),)
        )
        topic = Procedure.objects.create(
            organisation=cast.organisation,
            code="T03",
            title="Chemicals",
            area="safety",
            kind="topic",
            equipment_kind="site",
        )
        scene.versions["T03"] = record(
            Version(
                site=cast.lane, happened_on=REGISTER_START, procedure=topic, number=1, in_force_from=REGISTER_START,
                content=content_to_json(text), policy=policy_to_json(Policy(check_asked=False)),
            ),
            by=cast.owner.person,
        )  # fmt: skip
        require(
            job_role(cast.organisation, "Dental assistant"), topic, REGISTER_START, at=cast.lane, by=cast.owner.person
        )
        rebuild(cast.lane)
        yield scene


class Life:
    """What a practice records, at random: some of it days late, some of it wrong, some of it taken back."""

    def __init__(self, scene: Scene, seed: int) -> None:
        self.scene, self.random, self.cast = scene, Random(seed), scene.cast
        self.lane = scene.cast.lane
        self.acts: list[Callable[[], object]] = [
            self.upkeep, self.upkeep, self.reading, self.use, self.stop, self.close, self.swap, self.take_out, self.interval,
            self.job, self.job, self.end_job,
            self.sign, self.sign, self.withdraw, self.watch, self.miss, self.answer, self.grant, self.carry, self.found,
            self.session, self.hazard, self.walk, self.spores, self.safeguard, self.seals, self.void, self.void, self.explain,
        ]  # fmt: skip

    def day(self) -> date:
        return TODAY - timedelta(days=self.random.choice((0, 0, 0, 1, 3, 9, 20, 45)))

    def who(self) -> Any:
        names = ("supervisor", "second", "assistant", "owner")
        return getattr(self.cast, self.random.choice(names)).person

    def code(self) -> str:
        return self.random.choice(("P01", "P03", "P04"))

    def put(self, model: Any, /, **more: Any) -> Any:
        fact = model(id=uuid4(), site=self.lane, happened_on=more.pop("day", None) or self.day(), **more)
        return record(fact, by=None)  # past the policy: findings also see what nobody may record

    def any_of(self, kind: Any) -> Any:
        rows = list(kind.objects.live().filter(site=self.lane).in_order())
        return self.random.choice(rows) if rows else None

    def unit(self, kind: str = "milling unit") -> Equipment:
        return Equipment.objects.filter(site=self.lane, kind=kind).first()  # type: ignore[return-value]

    def upkeep(self, code: str = "U90", kind: str = "milling unit", **readings: str) -> None:
        task, near = UpkeepTask.objects.get(code=code), self.who()
        doer = self.who()
        near = near if near != doer and self.random.random() < 0.3 else None
        log_work(DoneTask(task, self.unit(kind), self.lane, doer, self.day(), near, readings), by=doer)

    def reading(self) -> None:
        doer = self.who()
        warm = self.random.choice(("20", "40"))
        log_work(
            DoneTask(self.cast.task, self.cast.unit, self.lane, doer, self.day(), None, {"tools": "yes", "warm": warm, "grown": "1"}), by=doer
        )  # fmt: skip

    def spores(self) -> None:
        control = {"control": "growth", "same_lot": "yes"} if self.random.random() < 0.5 else {}
        self.upkeep("U10", "steriliser", test="no growth", **control)

    def use(self) -> None:
        unit = self.unit(self.random.choice(("milling unit", "torque driver")))
        self.put(Use, equipment=unit, units=self.random.randint(1, 5))

    def stop(self) -> None:
        self.put(OutOfService, equipment=self.unit(), reason="It leaks.")

    def close(self) -> None:
        first = self.day()
        self.put(Closure, first=first, after=first + timedelta(days=self.random.randint(1, 9)))

    def swap(self) -> None:
        self.put(ToolMounted, equipment=self.unit(), tool=self.tool(), position="1", done_by=self.who())

    def tool(self) -> MillingTool:
        """One whose life is counted in parts, or one in minutes."""
        return self.random.choice(list(MillingTool.objects.order_by("code")))

    def job(self) -> None:
        sitting = self.any_of(ToolMounted)
        self.put(
            JobStarted, equipment=self.unit(), lot=BlockLot.objects.get(), case="26-1", wet=False, done_by=self.who(),
            tools=[str(sitting.pk)] if sitting else [],
        )  # fmt: skip

    def end_job(self) -> None:
        if job := self.any_of(JobStarted):
            minutes = self.random.choice((None, 4, 12))
            day = max(job.happened_on, self.day())
            self.put(JobEnded, job=job, outcome="good", minutes=minutes, done_by=self.who(), day=day)

    def take_out(self) -> None:
        if mounted := self.any_of(ToolMounted):
            self.put(
                ToolRemoved, mounting=mounted, why="chip", done_by=self.who(), day=max(mounted.happened_on, self.day())
            )

    def interval(self) -> None:
        self.put(
            TaskSetting, task=UpkeepTask.objects.get(code="U90"), every_days=self.random.randint(2, 30), source="Maker."
        )

    def sign(self) -> None:
        signer, person, day = self.who(), self.who(), self.day()
        if signer != person:
            self.put(
                SignOff, person=person, version=self.scene.versions[self.code()], signer=signer, signer_name=str(signer),
                meaning="May do it.", statement="", evidence=[], reidentified="passphrase", day=day,
                reidentified_at="2025-03-03T12:00:00Z",
            )  # fmt: skip

    def withdraw(self) -> None:
        procedure = self.scene.procedures[self.code()]
        self.put(Withdrawal, person=self.who(), procedure=procedure, signer_name="Hester Vane", reason="Not now.")

    def watch(self) -> None:
        watched(self.scene, self.cast.assistant.person, self.code(), self.day())

    def miss(self) -> None:
        seen = watched(self.scene, self.cast.second.person, self.code(), self.day(), outcome="not met")
        values = {field.attname: getattr(seen, field.attname) for field in seen._meta.concrete_fields}
        record(Observation(**values | {"id": uuid4(), "critical_miss": True}), by=None)

    def answer(self) -> None:
        if missed := Observation.objects.live().filter(critical_miss=True).order_by("pk").first():
            self.put(CriticalMissAnswer, observation=missed, reason="Shown again.", day=TODAY)

    def grant(self) -> None:
        day = self.day()
        until = day + timedelta(days=self.random.randint(5, 60)) if self.random.random() < 0.5 else None
        self.put(Authority, person=self.who(), procedures=[self.code()], to_day=until, day=day)

    def carry(self) -> None:
        carried(self.scene, self.who(), self.code(), TODAY + timedelta(days=self.random.randint(5, 60)))

    def found(self) -> None:
        founded(self.scene, self.who(), self.code())

    def session(self) -> None:
        trainer = self.random.choice(("", "Ines Pellow"))
        fact = TaughtSession(
            id=uuid4(), site=self.lane, happened_on=self.day(), days=[], summary="All.", trainer_name=trainer
        )
        topic = SessionTopic(session=fact, version=self.scene.versions["P01"])
        record(
            fact, topic, Attendance(session=fact, person=self.who(), job_title="Assistant"), by=self.cast.owner.person
        )

    def hazard(self) -> None:
        self.put(
            ChemicalListed,
            product=str(uuid4()),
            place="shelf",
            hazard_classes=[self.random.choice(HEALTH + PHYSICAL)],
            sheet_revision=TODAY,
        )

    def walk(self) -> None:
        self.put(SiteFactValue, site_fact=SiteFact.objects.get(name="lamp"), value="the green one")

    def safeguard(self) -> None:
        self.put(Safeguard, kind="backup", good=self.random.random() < 0.7, done_by=self.who(), said="On the disk.")

    def seals(self) -> None:
        check_seals(self.lane, by=self.cast.owner.person)

    def void(self) -> None:
        named = Seal.objects.filter(corrects__isnull=False).values("corrects")
        rows = list(Seal.objects.filter(site=self.lane, position__gt=40).exclude(fact__in=named).order_by("position"))
        if rows:
            seal = self.random.choice(rows)
            if isinstance(row_of(seal.kind, seal.fact), Fact):
                self.put(Voiding, corrects=seal.fact, reason="It was wrong.", day=TODAY)

    def explain(self) -> None:
        open_ones = [one for one in findings(self.lane, TODAY) if one.is_open]
        if open_ones:
            key = self.random.choice(open_ones).finding.key
            correct([key], "Talked about it.", self.who(), site=self.lane, by=self.cast.owner.person)


def refused(act: Callable[[], object]) -> None:
    with suppress(Refused):
        act()


@pytest.mark.parametrize("seed", range(2))
def test_the_stored_findings_are_what_the_facts_say_after_every_fact(scene: Scene, seed: int) -> None:
    life = Life(scene, seed)
    for number in range(40):
        act = life.random.choice(life.acts)
        refused(act)
        assert FindingsKept.objects.filter(site=life.lane).exists(), act
        assert differences(life.lane) == [], (number, act)
    codes = set(FindingSpan.objects.values_list("code", flat=True))
    assert len(codes) > 6, codes  # the practice is messy enough to say something


def test_every_day_says_the_same_from_what_is_stored_as_from_the_facts(scene: Scene) -> None:
    life = Life(scene, 101)
    for _ in range(30):
        refused(life.random.choice(life.acts))
    days = [TODAY - timedelta(days=n) for n in range(-30, 60, 7)]
    stored = [findings(life.lane, day) for day in days]
    periods = [findings_in(life.lane, day - 20 * DAY, day) for day in days]
    FindingsKept.objects.all().delete()
    assert [findings(life.lane, day) for day in days] == stored
    assert [findings_in(life.lane, day - 20 * DAY, day) for day in days] == periods


def test_how_many_are_open_is_counted_as_they_are_told_one_by_one(scene: Scene) -> None:
    life = Life(scene, 101)
    for _ in range(30):
        refused(life.random.choice(life.acts))
    notes = [one.finding.key for one in findings(life.lane, TODAY) if one.finding.weight is Weight.NOTE]
    correct(notes[:1], "Talked it through.", scene.cast.owner.person, site=life.lane, by=scene.cast.owner.person)
    days = [TODAY - timedelta(days=n) for n in range(-30, 60, 5)]
    told = [counts(findings(life.lane, day)) for day in days]
    assert [weights_on(life.lane, day) for day in days] == told
    assert any(one["note"] for one in told) and any(one["fix"] for one in told)


def test_as_known_by_an_instant_only_what_was_recorded_by_then_is_found(scene: Scene) -> None:
    life = Life(scene, 7)
    told: list[tuple[Any, Any]] = []
    for _ in range(12):
        refused(life.random.choice(life.acts))
        scene.cast.lane.refresh_from_db()
        told.append((scene.cast.lane.last_recorded_at, sorted(computed(scene.cast.lane), key=repr)))
    assert all(sorted(computed(scene.cast.lane, instant), key=repr) == then for instant, then in told)


def test_a_change_of_staff_requirements_or_units_waits_and_is_computed_until_it_is_stored(scene: Scene) -> None:
    lane, before = scene.cast.lane, len(findings(scene.cast.lane, TODAY + 60 * DAY))
    with clock.standing_at(clock.now()):
        held = RoleHeld.objects.filter(site=lane, person=scene.cast.assistant.person).first()
        assert held is not None
        end_role(held, TODAY, by=scene.cast.owner.person)
    assert not FindingsKept.objects.filter(site=lane).exists()
    computed_now = findings(lane, TODAY + 60 * DAY)
    assert len(computed_now) < before
    rebuild(lane)
    assert findings(lane, TODAY + 60 * DAY) == computed_now


def test_another_sites_findings_stay_kept(scene: Scene) -> None:
    rebuild(scene.cast.court)
    role = job_role(scene.cast.organisation, "Receptionist")
    give_role(scene.cast.second.person, scene.cast.lane, role, TODAY, by=scene.cast.owner.person)
    kept = set(FindingsKept.objects.values_list("site", flat=True))
    assert kept == {scene.cast.court.pk}


def test_a_row_that_was_altered_is_found_and_rebuilt(scene: Scene) -> None:
    FindingSpan.objects.filter(code="seal check late").update(first=TODAY)
    assert [says.split(": ")[1] for says in differences(scene.cast.lane)] == [
        "the stored findings differ from the facts"
    ]
    rebuild(scene.cast.lane)
    assert differences(scene.cast.lane) == []


def test_what_is_stored_is_read_in_three_queries_once_it_is_known_that_nothing_waits(scene: Scene) -> None:
    with CaptureQueriesContext(connection) as seen:
        findings(scene.cast.lane, TODAY)
    assert len(seen) == 1 + 3


def test_the_binder_of_a_period_prints_what_stood_in_it_though_its_last_day_says_nothing(scene: Scene) -> None:
    """The seals were late for days, and checked before the period ended."""
    check_seals(scene.cast.lane, by=scene.cast.owner.person)
    day = TODAY + DAY
    assert "seal check late" not in [one.finding.code for one in findings(scene.cast.lane, day)]
    (late,) = [
        one for one in findings_in(scene.cast.lane, TODAY - 9 * DAY, day) if one.finding.code == "seal check late"
    ]
    row = finding_row(late)
    assert (row.since, row.until) == ((REGISTER_START + 8 * DAY).isoformat(), (TODAY - DAY).isoformat())


def test_work_of_the_morning_is_not_healed_by_what_is_signed_in_the_afternoon(scene: Scene) -> None:
    carried(scene, scene.cast.second.person, "P01", TODAY + 60 * DAY)
    log_work(
        DoneTask(
            UpkeepTask.objects.get(code="U90"), scene.cast.unit, scene.cast.lane, scene.cast.assistant.person, TODAY
        ),
        by=scene.cast.owner.person,
    )
    life = Life(scene, 1)
    life.put(
        Withdrawal,
        person=scene.cast.assistant.person,
        procedure=scene.procedures["P01"],
        signer_name="H",
        reason="No.",
        day=TODAY,
    )
    assert differences(scene.cast.lane) == []
