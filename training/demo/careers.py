"""Ordinary training, week by week: everybody learns what their role needs in prerequisite order, and keeps it current."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from clinic import clock
from clinic.models import Person
from clinic.record import Refused
from training.actions.observe import Performance, record_observations
from training.actions.signing import Proved, sign_off
from training.actions.teach import record_session, take_check
from training.demo.progress import SLACK, Progress
from training.demo.scenario import Actor, key_of
from training.demo.second_markings import mark_some_too
from training.demo.setting_up import Cast, version_in_force
from training.models import Observation, TaughtSession, Version
from training.rules.facts import Method, Policy
from training.rules.texts import Step

ACTS_A_DAY = 3
LESSONS_A_WEEK = 6
SPREAD = 15  # days over which renewals begin, the last of them SLACK days before the end
LATE = 5  # the same of whoever renews late
QUIET_DAYS = 120  # after these without a performance, one is arranged, long before the idle limit


@dataclass(slots=True)
class Careers:
    cast: Cast
    progress: dict[tuple[str, str], Progress] = field(default_factory=lambda: defaultdict(Progress))
    refused: list[str] = field(default_factory=list)
    acts: dict[tuple[str, date], int] = field(default_factory=lambda: defaultdict(int))
    lessons: dict[tuple[str, date], int] = field(default_factory=lambda: defaultdict(int))  # by person and Monday
    order: list[str] = field(default_factory=list)
    policies: dict[Any, Policy] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.order = in_prerequisite_order(self.cast)

    def learners(self, day: date) -> Iterator[Actor]:
        for actor in self.cast.scenario.people:
            person = self.cast.people.get(actor.key)
            if person and actor.role and person.is_at_work_on(day):
                yield actor

    def wanted(self, actor: Actor) -> list[str]:
        """Codes of the practice procedures that the role needs, prerequisites first."""
        names = self.cast.scenario.roles[actor.role]
        codes = {code for name in names for code in self.cast.library.role_sets[name]}
        return [code for code in self.order if code in codes]

    def play_day(self, day: date) -> None:
        for actor in self.learners(day):
            for code in self.wanted(actor):
                if self.acts[actor.key, day] < ACTS_A_DAY:
                    self.step(actor, code, day)

    def step(self, actor: Actor, code: str, day: date) -> None:
        """The next thing this person does in this procedure today, if there is one."""
        state, policy = self.progress[actor.key, code], self.policy(code, day)
        waits = code in actor.unsigned and state.met >= policy.needed
        if waits or state.lapsed_on_purpose or not self.prerequisites_held(actor, policy, day):
            return
        if state.is_to_learn(day):
            self.learn(actor, code, day, state, policy)
        else:
            self.keep_up(actor, code, day, state, policy)

    def prerequisites_held(self, actor: Actor, policy: Policy, day: date) -> bool:
        return all(self.holds(actor, code, day) for code in policy.prerequisites)

    def holds(self, actor: Actor, code: str, day: date) -> bool:
        return self.progress[actor.key, code].holds_on(day)

    def learn(self, actor: Actor, code: str, day: date, state: Progress, policy: Policy) -> None:
        monday = day - timedelta(days=day.weekday())
        carried = state.carried_until and day < state.carried_until - timedelta(days=45)
        if carried or self.lessons[actor.key, monday] >= LESSONS_A_WEEK:
            return
        self.lessons[actor.key, monday] += 1
        if policy.check_asked and not state.checked:
            self.check(actor, code, day, state)
        elif state.met < policy.needed:
            if day not in state.days or len(state.days) >= policy.distinct_days:
                self.assess(actor, code, day, state, policy)
        else:
            self.sign(actor, code, day, state)

    def keep_up(self, actor: Actor, code: str, day: date, state: Progress, policy: Policy) -> None:
        assert state.signed_on is not None
        spread = LATE if actor.renews_late else SPREAD
        until, ahead = state.until, min(policy.notice_days - SLACK, SLACK + int(key_of(actor.key, code)) % spread)
        if until and until - timedelta(days=ahead) <= day <= until:
            if state.last_done is None or state.last_done <= state.signed_on or state.met == 0:
                if policy.check_asked and not state.checked:
                    self.check(actor, code, day, state)
                else:
                    self.assess(actor, code, day, state, policy, renewal=True)
            else:
                self.sign(actor, code, day, state)
        elif policy.idle_days and state.last_done and (day - state.last_done).days > QUIET_DAYS:
            self.assess(actor, code, day, state, policy, renewal=True)
            state.met = 0

    # -- the acts -----------------------------------------------------------------------------------------------------

    def check(self, actor: Actor, code: str, day: date, state: Progress) -> None:
        """Most pass at once; every seventh first try goes wrong."""
        self.acts[actor.key, day] += 1
        version, person = version_in_force(self.cast, code, day), self.cast.people[actor.key]
        questions = version.text.questions
        answers = {question.key: question.right for question in questions}
        stumbles = state.tries == 0 and int(key_of("stumble", actor.key, code)) % 7 == 0
        if stumbles and questions:
            answers[questions[0].key] = next(o for o in questions[0].options if o != questions[0].right)
        with clock.standing_at(self.cast.scenario.instant(day, 12, 5 * self.acts[actor.key, day])):
            take_check(
                version, person, answers, site=person.home_site, seed=str(self.cast.scenario.key_of(actor.key, code, day)), by=person,
                id=self.cast.scenario.key_of("check", actor.key, code, day),
            )  # fmt: skip
        state.checked, state.tries = not stumbles, state.tries + 1

    def assess(
        self, actor: Actor, code: str, day: date, state: Progress, policy: Policy, renewal: bool = False
    ) -> None:
        watcher = self.watcher(actor, code, day, state.met)
        if watcher is None:
            return
        self.acts[actor.key, day] += 1
        version = version_in_force(self.cast, code, day)
        method = self.method(policy, state.met, renewal)
        marks = {step.key: mark_for(step, state.met) for step in version.text.steps}
        mark_some_too(self.cast, self.watch(actor, version, day, watcher=watcher, method=method, marks=marks))
        state.met += 1
        state.days.add(day)
        state.last_done = day

    def watch(
        self, actor: Actor, version: Version, day: date, *, watcher: Person, method: Method, marks: dict[str, str],
        purpose: str = Observation.Purpose.ASSESSMENT, **more: Any,
    ) -> Observation:  # fmt: skip
        person, number = self.cast.people[actor.key], self.acts[actor.key, day]
        start = self.cast.scenario.instant(day, 9 + number, 7 * number % 40)
        seen = Performance(
            id=self.cast.scenario.key_of("performance", actor.key, version.procedure.code, day, number), site=person.home_site, person=person,
            purpose=purpose, method=method, started_at=start, finished_at=start + timedelta(minutes=14 + number),
            observer=watcher, equipment=self.unit(actor, version.procedure.equipment_kind), own_word=Observation.OwnWord.READY,
            **more,
        )  # fmt: skip
        with clock.standing_at(start + timedelta(minutes=16 + number)):
            return record_observations(seen, {version: marks}, by=watcher)[0]

    def sign(self, actor: Actor, code: str, day: date, state: Progress) -> None:
        signer, person = self.watcher(actor, code, day, 0), self.cast.people[actor.key]
        if signer is None:
            return
        with clock.standing_at(self.cast.scenario.instant(day, 16, self.acts[actor.key, day])):
            try:
                signed = sign_off(
                    person, self.cast.procedures[code], signer, site=person.home_site, proved=Proved("name and password", clock.now()),
                    statement=statement(person, self.cast.procedures[code].title), id=self.cast.scenario.key_of("sign", actor.key, code, day),
                )  # fmt: skip
            except Refused as refused:
                self.refused.append(f"{day} {actor.key} {code}: {refused}")
                state.met, state.checked = min(state.met, 0), state.checked and "check" not in str(refused)
                return
        state.sign(day, signed.valid_until, self.policy(code, day))

    # -- who, how and on what -----------------------------------------------------------------------------------------

    def policy(self, code: str, day: date) -> Policy:
        version = version_in_force(self.cast, code, day)
        if version.pk not in self.policies:
            self.policies[version.pk] = version.asks
        return self.policies[version.pk]

    def watcher(self, actor: Actor, code: str, day: date, turn: int) -> Person | None:
        """A supervisor of the site other than oneself who holds it, in turn."""
        supervisors = self.cast.supervisors(actor.site, day)
        able = [
            person
            for key, person in self.cast.people.items()
            if person in supervisors and key != actor.key and person.is_at_work_on(day)
            and self.founded_or_holds(key, code, day)
        ]  # fmt: skip
        return able[turn % len(able)] if able else None

    def founded_or_holds(self, key: str, code: str, day: date) -> bool:
        actor = next(a for a in self.cast.scenario.people if a.key == key)
        founded = actor.founding and day <= self.cast.scenario.start + timedelta(days=330)
        return founded or self.holds(actor, code, day)

    def method(self, policy: Policy, turn: int, renewal: bool) -> Method:
        """Quotas first, then whatever counts."""
        if renewal:
            return next(m for m in Method if m in policy.renewal_methods)
        asked = [
            next(m for m in Method if m in quota.methods) for quota in policy.by_method for _ in range(quota.count)
        ]
        rest = [m for m in Method if m in policy.methods]
        return asked[turn] if turn < len(asked) else rest[turn % len(rest)]

    def unit(self, actor: Actor, kind: str) -> Any:
        units = [u for u in self.cast.equipment.values() if u.kind == kind and u.site == self.cast.site_of(actor)]
        return units[0] if units else None

    # -- topics -------------------------------------------------------------------------------------------------------

    def teach(self, day: date, codes: list[str], site: str, only: str = "") -> TaughtSession | None:
        """One session for everybody at the site whose role needs a topic, or for one of them."""
        present = [self.cast.people[a.key] for a in self.learners(day) if a.site == site and only in ("", a.key)]
        if not present:
            return None
        trainer = self.cast.supervisors(site, day)[0]
        with clock.standing_at(self.cast.scenario.instant(day, 13)):
            session = TaughtSession(
                id=self.cast.scenario.key_of("session", site, day, *codes, *filter(None, [only])), site=self.cast.sites[site], happened_on=day, days=[day.isoformat()],
                summary="Went through every element of the topic with cases from our own rooms.", trainer=trainer,
                trainer_name=trainer.printed_name, trainer_qualification="infection-prevention coordinator, trained 2023",
                live_questions=True, demonstrated=True, language="English", handed_out="two-page summary",
                demonstration="" if only else "gloves put on and taken off, the eyewash run, a spill kit opened",
            )  # fmt: skip
            versions = [version_in_force(self.cast, code, day) for code in codes]
            return record_session(session, versions, present, by=trainer)


def in_prerequisite_order(cast: Cast) -> list[str]:
    """Every procedure that is watched, prerequisites first; ties by code."""
    waits = {text.code: set(text.policy.prerequisites) for text in cast.library.procedures if text.kind == "practice"}
    found: list[str] = []
    while len(found) < len(waits):
        found += sorted(code for code, needs in waits.items() if code not in found and needs <= set(found))
    return found


def mark_for(step: Step, turn: int) -> str:
    """Conditional steps are asked the first two times and not needed afterwards; one ordinary step is prompted at first."""
    if step.when:
        return "asked" if turn < 2 else "not needed"
    return "prompted" if turn == 0 and not step.critical and step.key == "s05" else "alone"


def statement(person: Person, title: str) -> str:
    return (
        f"I watched {person.printed_name} and state that {person.given_name} may do “{title}” here without supervision."
    )
