"""A practice played at random through its actions, crowded so that its facts get in each other's way: observations (some entered
late, some taken back), sign-offs, withdrawals, records carried over, taught sessions, stops and returns, upkeep and readings
out of limits. What an action refuses did not happen. One seed gives one practice.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from random import Random
from typing import Any

from django.test import Client

from clinic import clock
from clinic.actions import people as staff
from clinic.actions.readings import DoneTask, log_work
from clinic.actions.upkeep import return_unit, stop_unit
from clinic.changes import make
from clinic.models import Fact, Person, Site, UpkeepEntry
from clinic.record import Refused, record, void
from clinic.rights import against_putting_right
from tests.cast import REGISTER_START, Cast, Member, member
from tests.training.people_scene import POLICIES, TEXT, Scene, carried, enter, founded, set_scene, watched
from training.actions import signing
from training.actions.proof import Proved
from training.actions.requirements import require
from training.actions.teach import record_session
from training.models import EvidenceSpan, InstructionsCheck, Procedure, TaughtSession, Version
from training.rules.facts import Policy
from training.rules.texts import content_to_json, policy_to_json

SHORT = Policy(
    check_asked=False, needed=1, renewal_needed=1, renewal_months=2, first_year_months=1, notice_days=10, grace_days=3,
    idle_days=40, prerequisites=("P04", "T01"),
)  # fmt: skip
NAMES = ("Ada Finch", "Bo Larkin", "Cleo Marsh", "Dov Teal")


@dataclass
class Played:
    """The practice at the end of its days. `facts` may still be taken back; `acts` counts what happened and what was refused."""

    scene: Scene
    rng: Random
    day: date = REGISTER_START
    people: list[Person] = field(default_factory=list)
    facts: list[Fact] = field(default_factory=list)
    acts: Counter[str] = field(default_factory=Counter)

    @property
    def cast(self) -> Cast:
        return self.scene.cast

    @property
    def site(self) -> Site:
        return self.cast.lane


def play(cast: Cast, seed: int, days: int = 120) -> Played:
    """From the register start on, a few acts on most days."""
    game = begin(cast, seed)
    for number in range(days):
        game.day = REGISTER_START + timedelta(days=number)
        for hour in range(9, 9 + game.rng.choice((0, 1, 1, 2, 3))):
            with clock.replaying(), clock.standing_at(noon_of(game.day, hour)):
                act_once(game)
    return game


def noon_of(day: date, hour: int = 12) -> datetime:
    return datetime(day.year, day.month, day.day, hour, 17, tzinfo=UTC)


def begin(cast: Cast, seed: int) -> Played:
    game = Played(set_scene(cast), Random(seed))
    scene = game.scene
    with clock.replaying(), clock.standing_at(noon_of(REGISTER_START, 8)):
        enter(scene, "P13", "Sharps injury response", replace(SHORT, prerequisites=("P01",)))
        enter(scene, "P06", "Cleaning the chamber", replace(SHORT, prerequisites=("P13",), upkeep_covered=("U91",)))
        topic(scene)
        role = staff.job_role(cast.organisation, "Dental assistant")
        for code in ("P06", "P13", "T01"):
            require(role, scene.procedures[code], REGISTER_START, at=cast.lane, by=cast.coordinator.person)
        game.people = [cast.assistant.person, cast.second.person, *(hired(cast, name).person for name in NAMES)]
        founded(scene, cast.supervisor.person, *scene.procedures)
        for version in scene.versions.values():
            checked(version, cast)
    return game


def topic(scene: Scene) -> None:
    """Bloodborne pathogens, taught again every two months here."""
    lane = scene.cast.lane
    row = Procedure(
        organisation=scene.cast.organisation, code="T01", title="Bloodborne pathogens", stands_for="bloodborne pathogens", area="milling",
        kind=Procedure.Kind.TOPIC, equipment_kind="",
    )  # fmt: skip
    make(row, site=lane, by=None, said="T01 entered")
    version = Version(
        site=lane, happened_on=REGISTER_START, procedure=row, number=1, in_force_from=REGISTER_START,
        content=content_to_json(TEXT), policy=policy_to_json(Policy(needed=0, renewal_months=2, notice_days=10)),
    )  # fmt: skip
    scene.procedures["T01"], scene.versions["T01"] = row, record(version, by=scene.cast.owner.person)


def hired(cast: Cast, name: str) -> Member:
    given, family = name.split()
    return member(cast.lane, given, family, "Dental assistant")


def checked(version: Version, cast: Cast) -> None:
    row = InstructionsCheck(
        site=cast.lane, happened_on=REGISTER_START, version=version, title="The maker’s manual", edition="3",
        checked_by=cast.owner.person,
    )  # fmt: skip
    record(row, by=cast.owner.person)


def act_once(game: Played) -> None:
    name, act = game.rng.choice(ACTS)
    try:
        made = act(game)
    except Refused:
        game.acts[f"{name} refused"] += 1
    else:
        game.acts[name] += 1
        if isinstance(made, Fact):
            game.facts.append(made)


def somebody(game: Played) -> Person:
    return game.rng.choice(game.people)


def proved(game: Played) -> Proved:
    return Proved("password", clock.now())


def watch(game: Played) -> Any:
    """Up to nine days late."""
    code, late = game.rng.choice(["P01", "P01", "P13", "P04", "P06", "P03"]), game.rng.choice((0, 0, 0, 1, 9))
    day = max(REGISTER_START, game.day - timedelta(days=late))
    return watched(game.scene, somebody(game), code, day, game.rng.choice(("met", "met", "met", "not met")))


def sign(game: Played) -> Any:
    """Somebody whose evidence is enough, where there is anybody; else whoever comes first, to be refused."""
    enough = EvidenceSpan.objects.on(game.day).filter(
        evidence="enough", person__in=game.people, procedure__kind="practice"
    )
    waiting = list(enough.order_by("person", "procedure__code").values_list("person", "procedure__code"))
    pk, code = game.rng.choice(waiting) if waiting else (somebody(game).pk, "P03")
    who, signer = Person.objects.get(pk=pk), game.cast.supervisor.person
    what = game.scene.procedures[code]
    return signing.sign_off(who, what, signer, site=game.site, proved=proved(game), statement="She may do it alone.")


def withdraw(game: Played) -> Any:
    who, what = somebody(game), game.scene.procedures[game.rng.choice(["P01", "P04", "P13"])]
    return signing.withdraw(
        who, what, "A guard stood open.", site=game.site, by=game.cast.supervisor.person, proved=proved(game)
    )


def carry(game: Played) -> Any:
    code = game.rng.choice(list(POLICIES))
    return carried(game.scene, somebody(game), code, REGISTER_START + timedelta(days=game.rng.randint(20, 179)))


def teach(game: Played) -> Any:
    day = max(REGISTER_START, game.day - timedelta(days=game.rng.choice((0, 0, 4))))
    session = TaughtSession(
        site=game.site,
        happened_on=day,
        days=[day.isoformat()],
        summary="Blood, needles, what to do.",
        handed_out="nothing",
        trainer=game.cast.second.person,
        trainer_name="Tobias Rask",
        trainer_qualification="Dentist",
        live_questions=game.rng.random() < 0.8,
        language="English",
    )
    who = game.rng.sample(game.people, game.rng.randint(1, 4))
    return record_session(session, [game.scene.versions["T01"]], who, by=game.cast.coordinator.person)


def take_back(game: Played) -> Any:
    if not game.facts:
        return None
    fact = game.facts.pop(game.rng.randrange(len(game.facts)))
    able = [
        who for who in (game.cast.owner.person, game.cast.supervisor.person) if not against_putting_right(who, fact)
    ]
    return void(fact, by=able[0], reason="It was written against the wrong name.") and None if able else None


def stop(game: Played) -> Any:
    return stop_unit(game.cast.unit, "It smells of smoke.", site=game.site, by=somebody(game))


def give_back(game: Played) -> Any:
    return return_unit(game.cast.unit, "Ran empty, no smell.", site=game.site, by=game.cast.supervisor.person)


def upkeep(game: Played) -> UpkeepEntry:
    late, grown = game.rng.choice((0, 0, 2)), game.rng.choice(("1", "1", "900"))
    day = max(REGISTER_START, game.day - timedelta(days=late))
    read = {"tools": "yes", "warm": "20", "grown": grown}
    who = somebody(game)
    return log_work(DoneTask(game.cast.task, game.cast.unit, game.site, who, day, readings=read), by=who).entry


ACTS: list[tuple[str, Callable[[Played], Any]]] = [
    *[("watch", watch)] * 6, *[("sign", sign)] * 8, ("withdraw", withdraw), *[("carry", carry)] * 2, *[("teach", teach)] * 2,
    *[("take back", take_back)] * 2, ("stop", stop), ("return", give_back), *[("upkeep", upkeep)] * 3,
]  # fmt: skip


def client_of(who: Member) -> Client:
    client = Client()
    client.force_login(who.account, backend="clinic.accounts.AtWork")
    return client
