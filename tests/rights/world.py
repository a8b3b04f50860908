"""Two sites, two procedures, everybody who may do something somewhere, and one row of each kind for each site × procedure.

The group is the cast's; what each of its people holds stands in `HOLDS`, a second time, in words of its own.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import uuid4

from clinic import clock
from clinic.actions import people
from clinic.changes import make
from clinic.models import Absence, Appointment, KeptElsewhere, OutsideWitness, Person, Post, SiteFact, SiteFactValue
from clinic.record import fact_recorded, record
from tests.cast import REGISTER_START, Cast
from training.actions import binder, grants, requirements, sheets, versions
from training.actions.observe import Performance, answer_miss, record_observations
from training.actions.proof import Proved
from training.actions.second_marking import mark_too
from training.actions.signing import sign_off, withdraw
from training.actions.teach import record_session, talk_through
from training.models import Draft, Issue, KnowledgeResult, Observation, PlacePhoto, Procedure, TaughtSession, Version
from training.rules.facts import Policy
from training.rules.texts import Content, Step, content_to_json, policy_to_json

NOW = datetime(2025, 3, 3, 12, tzinfo=UTC)
TODAY = NOW.date()
FOUNDED = {"rests_on": "visit", "detail": "The trainer’s visit."}
TEXT = Content(purpose="To do it well.", steps=(Step("s1", "Put the guard on", critical=True), Step("s2", "Wipe it")))
ASKS = Policy(check_asked=False, window_days=366)
MARKS = {"s1": "alone", "s2": "alone"}
SITES, CODES = ("lane", "court"), ("P01", "P06")

# Who holds what, and where; "group" is every site.
HOLDS: dict[str, set[tuple[str, str]]] = {
    "owner": {("owner", "group"), ("job", "lane")},
    "coordinator": {("coordinator", "group"), ("job", "lane")},
    "officer": {("officer", "group")},
    "lane owner": {("owner", "lane"), ("job", "lane")},
    "court owner": {("owner", "court"), ("job", "court")},
    "lane coordinator": {("coordinator", "lane"), ("job", "lane")},
    "court coordinator": {("coordinator", "court"), ("job", "court")},
    "lane officer": {("officer", "lane"), ("job", "lane")},
    "lane P01": {("P01", "lane"), ("job", "lane")},
    "lane P06": {("P06", "lane"), ("job", "lane")},
    "court P01": {("P01", "court"), ("job", "court")},
    "lane P01 and P06": {("P01", "lane"), ("P06", "lane"), ("job", "lane")},
    "lane P01, once P06": {("P01", "lane"), ("job", "lane")},
    "lane assistant": {("job", "lane")},
    "inspector": {("pass", "lane")},
    "who left": set(),
}
POSTS = {"owner": Post.OWNER, "coordinator": Post.COORDINATOR, "officer": Post.SAFETY_OFFICER}


@contextmanager
def at_noon() -> Iterator[None]:
    with clock.standing_at(NOW):
        yield


@contextmanager
def without_timelines() -> Iterator[None]:
    """Nothing is worked out anew when a fact is recorded: who may is asked of facts and grants, never of what follows."""
    listening, fact_recorded.receivers = fact_recorded.receivers, []
    fact_recorded.sender_receivers_cache.clear()
    try:
        yield
    finally:
        fact_recorded.receivers = listening
        fact_recorded.sender_receivers_cache.clear()


def proved() -> Proved:
    return Proved("sign-in name and password", clock.now())


@dataclass(slots=True)
class World:
    cast: Cast
    actors: dict[str, Person] = field(default_factory=dict)
    procedures: dict[str, Procedure] = field(default_factory=dict)
    versions: dict[str, Version] = field(default_factory=dict)
    people: dict[tuple[str, str], Person] = field(default_factory=dict)  # site, who they are there
    rows: dict[tuple[str, ...], Any] = field(default_factory=dict)  # kind, site, and procedure where it is of one

    def site(self, name: str) -> Any:
        return getattr(self.cast, name)

    def other(self, name: str) -> str:
        return "court" if name == "lane" else "lane"


def build(cast: Cast) -> World:
    world = World(cast)
    with clock.standing_at(datetime(2025, 1, 6, 9, tzinfo=UTC)):
        for code in CODES:
            enter_procedure(world, code)
        for name in HOLDS:
            enter_actor(world, name)
        enter_watcher(world)
        for site in SITES:
            enter_people(world, site)
    with at_noon():
        for site in SITES:
            enter_rows(world, site)
            for code in CODES:
                enter_rows_of(world, site, code)
        for code in CODES:
            draft(world, code)
    return world


def enter_procedure(world: World, code: str) -> None:
    cast, title = world.cast, {"P01": "Hand care", "P06": "Chamber cleaning"}[code]
    row = Procedure(
        organisation=cast.organisation, code=code, title=title, area="milling", equipment_kind="milling unit"
    )
    make(row, site=cast.lane, by=None, said=f"{code} entered")
    text = {"content": content_to_json(TEXT), "policy": policy_to_json(ASKS)}
    version = Version(
        site=cast.lane, happened_on=REGISTER_START, procedure=row, number=1, in_force_from=REGISTER_START, **text
    )
    world.procedures[code], world.versions[code] = row, record(version, by=cast.owner.person)
    versions.check_instructions(
        world.versions[code], "Unit handbook", "3", site=cast.lane, by=cast.owner.person, proved=proved()
    )


def enter_actor(world: World, name: str) -> None:
    """The cast's own people where they fit; everybody else is hired, and holds what the table says."""
    cast = world.cast
    known = {"owner": cast.owner, "coordinator": cast.coordinator, "inspector": cast.inspector}
    if name in known:
        world.actors[name] = known[name].person
        return
    home = "court" if name.startswith("court") else "lane"
    person = hired(world, home, name, job=("job", home) in HOLDS[name] or name == "who left")
    world.actors[name] = person
    for what, where in sorted(HOLDS[name]):
        if what in POSTS:
            site = None if where == "group" else world.site(where)
            post = Appointment(person=person, post=POSTS[what], site=site, from_day=REGISTER_START)
            people.appoint(post, at=world.site(home), by=cast.owner.person)
        if what in CODES:
            found(world, person, where, what)
    if name == "lane P01, once P06":
        once = found(world, person, "lane", "P06", last=REGISTER_START + timedelta(days=20))
        assert once.to_day is not None and once.to_day < TODAY
    if name == "who left":
        found(world, person, "lane", "P01")
        people.leave(person, TODAY - timedelta(days=7), by=cast.owner.person)


def hired(world: World, home: str, name: str, *, job: bool = True) -> Person:
    site = world.site(home)
    person = Person(
        organisation=world.cast.organisation, home_site=site, given_name=name.capitalize(), family_name="Guest"
    )
    people.hire(person, by=None)
    if job:
        role = people.job_role(world.cast.organisation, "Dental assistant")
        people.give_role(person, site, role, REGISTER_START, by=None)
    return person


def found(world: World, person: Person, where: str, code: str, last: date = date(2025, 12, 31)) -> Any:
    return grants.found(
        person,
        world.site(where),
        REGISTER_START,
        last,
        by=world.cast.owner.person,
        procedures=[code],
        proved=proved(),
        **FOUNDED,
    )


def enter_watcher(world: World) -> None:
    """Somebody with authority for everything at both sites, who made the rows that the others try to touch."""
    watcher = world.people["", "watcher"] = hired(world, "lane", "watcher")
    role = people.job_role(world.cast.organisation, "Dental assistant")
    people.give_role(watcher, world.cast.court, role, REGISTER_START, by=world.cast.owner.person)
    for site in SITES:
        for code in CODES:
            found(world, watcher, site, code)


def enter_people(world: World, site: str) -> None:
    """Those about whom something is recorded, and those who hold posts that others would end."""
    for who in ("learner", "holder", "fallen", "older", "newcomer", "postholder", "group postholder"):
        world.people[site, who] = hired(world, site, f"{site} {who}")
    for who, where in (("postholder", world.site(site)), ("group postholder", None)):
        row = Appointment(person=world.people[site, who], post=Post.COORDINATOR, site=where, from_day=REGISTER_START)
        world.rows[who, site] = people.appoint(row, at=world.site(site), by=world.cast.owner.person)
    account, _ = people.open_account(world.people[site, "learner"], by=None, identity_checked="Known for years.")
    world.rows["account", site] = account
    for where in (world.site(site), None):
        key = ("requirement here" if where else "requirement everywhere", site)
        for code in CODES:
            title = people.job_role(world.cast.organisation, f"Job of {key} {code}")
            world.rows[(*key, code)] = requirements.require(
                title,
                world.procedures[code],
                REGISTER_START,
                site=where,
                at=world.site(site),
                by=world.cast.owner.person,
            )


def enter_rows(world: World, site: str) -> None:
    """Rows of the site that no procedure stands in."""
    here, owner = world.site(site), world.cast.owner.person
    fact, _ = SiteFact.objects.get_or_create(name="eye wash", defaults={"of": "site", "ask": "Where?", "question": 1})
    answer = SiteFactValue(site=here, happened_on=TODAY, site_fact=fact, value="By the door")
    world.rows["answer", site] = record(answer, by=owner)
    shown = PlacePhoto(site=here, happened_on=TODAY, site_fact=fact, says="The basin", picture=b"jpeg")
    world.rows["place photo", site] = record(shown, by=owner)
    kept = KeptElsewhere(site=here, happened_on=TODAY, what="Plan", place="Office", keeper="Hester")
    world.rows["kept", site] = record(kept, by=owner)
    issue = Issue(
        site=here, happened_on=TODAY, document="binder", number=f"{site}-B1", code=f"code {site}", frozen={"facts": []},
        frozen_digest="x",
    )  # fmt: skip
    world.rows["binder", site] = record(issue, by=owner)
    until = TODAY + timedelta(days=9)
    world.rows["pass", site] = binder.give_pass(issue, world.cast.inspector.person, until, site=here, by=owner)
    world.rows["absence", site] = Absence.objects.create(
        person=world.people[site, "learner"], from_day=TODAY, to_day=TODAY
    )


def enter_rows_of(world: World, site: str, code: str) -> None:
    """One row of each kind for the site and the procedure, made by the watcher or whoever keeps the roster."""
    here, procedure, version = world.site(site), world.procedures[code], world.versions[code]
    watcher, owner = world.people["", "watcher"], world.cast.owner.person
    learner, holder, fallen, older = (world.people[site, who] for who in ("learner", "holder", "fallen", "older"))
    keep = world.rows.__setitem__
    for who in (learner, holder):
        keep(("seen" if who == learner else "seen of the holder", site, code), watched(world, site, code, who, watcher))
    seen = world.rows["seen", site, code]
    printed = sheets.print_sheets(version, 3, site=here, unit=None, by=owner)
    keep(("sheets", site, code), printed)
    keep(("sheet", site, code), sheets.enter_sheet(on_sheet(world, site, code, printed.first), site=here, by=owner))
    outside = replace(
        on_sheet(world, site, code, printed.first + 2), observer=None, witness=visitor(world), photo=b"a sheet"
    )
    keep(("sheet of a witness", site, code), sheets.enter_sheet(outside, site=here, by=owner))
    keep(
        ("sign-off", site, code), sign_off(holder, procedure, watcher, site=here, proved=proved(), statement="She may.")
    )
    gone = withdraw(fallen, procedure, "It went wrong.", site=here, by=watcher, proved=proved())
    keep(("withdrawal", site, code), gone)
    for who in (fallen, learner):
        for _ in range(2):
            keep(("try", site, code), failed(version, who, here))
        if who == fallen:
            keep(("talk", site, code), talk_through(version, who, site=here, by=watcher))
    keep(("answer to a miss", site, code), answer_miss(seen, "Talked over.", site=here, by=watcher))
    second = hired(world, site, f"{site} {code} second")
    grants.found(second, here, TODAY, date(2025, 12, 31), by=owner, procedures=[code], proved=proved(), **FOUNDED)
    keep(("second marks", site, code), mark_too(seen, MARKS, by=second, id=uuid4()))
    keep(("session", site, code), record_session(session(world, site), [version], [learner], by=owner))
    granted = grants.grant_authority(older, here, TODAY, None, by=owner, procedures=[code])
    keep(("authority", site, code), granted)
    keep(("founding", site, code), grants.found(
        hired(world, site, f"{site} {code} founded"), here, TODAY, date(2025, 12, 31), by=owner, procedures=[code], proved=proved(), **FOUNDED
    ))  # fmt: skip
    keep(("carried over", site, code), grants.carry_over(paper(older, procedure), here, by=owner))
    check = versions.check_instructions(version, "Unit handbook", f"4 {site}", site=here, by=owner, proved=proved())
    keep(("instructions", site, code), check)


def watched(world: World, site: str, code: str, person: Person, by: Person) -> Observation:
    seen = Performance(
        id=uuid4(), site=world.site(site), person=person, purpose="assessment", method="real", observer=by,
        started_at=NOW - timedelta(hours=2), finished_at=NOW - timedelta(hours=1),
    )  # fmt: skip
    return record_observations(seen, {world.versions[code]: MARKS}, by=by)[0]


def visitor(world: World) -> OutsideWitness:
    return OutsideWitness.objects.get_or_create(
        organisation=world.cast.organisation, printed_name="Odile Marsh",
        defaults={"qualification": "trainer", "comes_from": "another practice", "identified_how": "badge"},
    )[0]  # fmt: skip


def on_sheet(world: World, site: str, code: str, number: int) -> sheets.OnSheet:
    """Of the learner, said to be watched by the watcher."""
    return sheets.OnSheet(
        id=uuid4(), number=number, person=world.people[site, "learner"], observer=world.people["", "watcher"],
        purpose="assessment", method="real", marks=MARKS, started_at=NOW - timedelta(hours=2),
        finished_at=NOW - timedelta(hours=1),
    )  # fmt: skip


def failed(version: Version, who: Person, site: Any) -> KnowledgeResult:
    tried = KnowledgeResult(
        site=site, happened_on=TODAY, version=version, person=who, passed=False, asked=[], answers={}, language="en-GB"
    )
    return record(tried, by=who)


def session(world: World, site: str, **more: Any) -> TaughtSession:
    return TaughtSession(id=uuid4(), site=world.site(site), happened_on=TODAY, summary="Talked through.", **more)


def paper(person: Person, procedure: Procedure) -> grants.PaperRecord:
    return grants.PaperRecord(person, procedure, date(2024, 10, 1), "the paper list", "blue folder", date(2025, 5, 1))


def draft(world: World, code: str) -> Draft:
    """Submitted, with another word in it than what is in force."""
    row = versions.start_draft(world.procedures[code], by=world.cast.coordinator.person)
    content = row.content | {"purpose": "To do it better."}
    versions.save_draft(row, content, row.policy, "Better words.", by=world.cast.coordinator.person)
    return versions.submit(row, by=world.cast.coordinator.person)
