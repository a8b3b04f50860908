"""Everything that somebody may try, as an action called with their name; and beside each, in words, who may.

An act is done whole or refused: wherever the table says yes, nothing else stands in its way in the world it is tried in.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from uuid import uuid4

from clinic.actions import days, incidents, jobs, people, purging, roster, stock, upkeep
from clinic.actions.factors import add_app
from clinic.factors import new_secret
from clinic.models import Account, Appointment, BlockLot, FactorChange, OutsideWitness, Person, Post, SiteFact
from clinic.record import record
from tests.one_time_codes import code_of
from tests.rights.world import FOUNDED, HOLDS, MARKS, TODAY, World, on_sheet, paper, proved, session, watched
from training.actions import binder, findings, grants, requirements, sheets, versions
from training.actions.observe import answer_miss
from training.actions.pictures import ShownPicture, keep_photo
from training.actions.putting_right import correct_session, take_back
from training.actions.second_marking import mark_too
from training.actions.signing import sign_off, withdraw
from training.actions.teach import record_session, talk_through
from training.actions.walk import WalkAnswer, answer_walk
from training.models import Draft, Retirement

Do = Callable[[World, Person, str, str], Any]
Held = set[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Act:
    """`needs`: a line of `MAY`. `of_procedure`: tried for each procedure; otherwise once for a site."""

    name: str
    needs: str
    do: Do
    of_procedure: bool = True


def at(held: Held, site: str, *posts: str) -> bool:
    return any((post, where) in held for post in posts for where in (site, "group"))


# Who may, from what somebody holds: asked for a site and a procedure.
MAY: dict[str, Callable[[Held, str, str], bool]] = {
    "authority for it here": lambda held, site, code: (code, site) in held,
    "authority for it here, or keeps the roster": lambda held, site, code: (
        (code, site) in held or at(held, site, "owner", "coordinator")
    ),
    "authority for it here, keeps the roster, or approves": lambda held, site, code: (
        (code, site) in held or at(held, site, "owner", "coordinator", "officer")
    ),
    "any authority here, or keeps the roster": lambda held, site, code: (
        bool({("P01", site), ("P06", site)} & held) or at(held, site, "owner", "coordinator")
    ),
    "approves everywhere": lambda held, site, code: bool({("owner", "group"), ("officer", "group")} & held),
    "drafts somewhere": lambda held, site, code: any(post in ("owner", "coordinator", "officer") for post, _ in held),
    "drafts here": lambda held, site, code: at(held, site, "owner", "coordinator", "officer"),
    "drafts everywhere": lambda held, site, code: bool(
        {("owner", "group"), ("coordinator", "group"), ("officer", "group")} & held
    ),
    "owns here": lambda held, site, code: at(held, site, "owner"),
    "owns the group": lambda held, site, code: ("owner", "group") in held,
    "keeps the roster here": lambda held, site, code: at(held, site, "owner", "coordinator"),
    "keeps the roster of both": lambda held, site, code: (
        at(held, "lane", "owner", "coordinator") and at(held, "court", "owner", "coordinator")
    ),
    "works here": lambda held, site, code: (
        bool({("job", site), ("P01", site), ("P06", site)} & held) or at(held, site, "owner", "coordinator")
    ),
    "reads the site": lambda held, site, code: (
        bool({("P01", site), ("P06", site)} & held) or at(held, site, "owner", "coordinator", "officer")
    ),
    "works here or reads the site": lambda held, site, code: (
        bool({("job", site), ("P01", site), ("P06", site)} & held) or at(held, site, "owner", "coordinator", "officer")
    ),
    "is one of the practice": lambda held, site, code: bool(held),
    "nobody": lambda held, site, code: False,
}
AUTHORITY, ROSTER = "authority for it here", "keeps the roster here"


def row(world: World, *key: str) -> Any:
    kept = world.rows[key]
    return type(kept)._default_manager.get(pk=kept.pk)


def person(world: World, site: str, who: str) -> Person:
    return Person.objects.get(pk=world.people[site, who].pk)


def taking_back(kind: str) -> Do:
    return lambda w, by, site, code: take_back(row(w, kind, site, code), "It was wrong.", by=by, proved=proved())


def taking_back_of_site(kind: str) -> Do:
    return lambda w, by, site, code: take_back(row(w, kind, site), "It was wrong.", by=by, proved=proved())


def sign(w: World, by: Person, site: str, code: str) -> Any:
    who, what = person(w, site, "learner"), w.procedures[code]
    return sign_off(who, what, by, site=w.site(site), proved=proved(), statement="I state that she may.")


def withdrawing(w: World, by: Person, site: str, code: str) -> Any:
    who = person(w, site, "holder")
    return withdraw(who, w.procedures[code], "It went wrong.", site=w.site(site), by=by, proved=proved())


def correcting(w: World, by: Person, site: str, code: str) -> Any:
    again = session(w, site, corrects=row(w, "session", site, code).pk, reason="Somebody was left out.")
    return correct_session(again, [w.versions[code]], [person(w, site, "learner")], by=by, proved=proved())


def undo_retirement(w: World, by: Person, site: str, code: str) -> Any:
    gone = versions.retire(w.procedures[code], TODAY, "Not done here.", site=w.site(site), by=w.cast.owner.person)
    return take_back(Retirement.objects.get(pk=gone.pk), "It is done here.", by=by, proved=proved())


def requiring(everywhere: bool) -> Do:
    def act(w: World, by: Person, site: str, code: str) -> Any:
        role = people.job_role(w.cast.organisation, "Hygienist")
        where = None if everywhere else w.site(site)
        return requirements.require(role, w.procedures[code], TODAY, site=where, at=w.site(site), by=by)

    return act


def ending(kind: str) -> Do:
    return lambda w, by, site, code: requirements.end_requirement(
        row(w, kind, site, code), TODAY, at=w.site(site), by=by
    )


def grant(w: World, by: Person, site: str, code: str) -> Any:
    return grants.grant_authority(person(w, site, "newcomer"), w.site(site), TODAY, None, by=by, procedures=[code])


def grant_to_oneself(w: World, by: Person, site: str, code: str) -> Any:
    return grants.grant_authority(by, w.site(site), TODAY, None, by=by, procedures=[code])


def founding(who: str) -> Do:
    def act(w: World, by: Person, site: str, code: str) -> Any:
        them, last = (by if who == "oneself" else person(w, site, who)), TODAY + timedelta(days=90)
        return grants.found(them, w.site(site), TODAY, last, by=by, procedures=[code], proved=proved(), **FOUNDED)

    return act


def carrying(who: str) -> Do:
    def act(w: World, by: Person, site: str, code: str) -> Any:
        them = by if who == "oneself" else person(w, site, who)
        return grants.carry_over(paper(them, w.procedures[code]), w.site(site), by=by)

    return act


def enter_from_paper(w: World, by: Person, site: str, code: str) -> Any:
    said = on_sheet(w, site, code, row(w, "sheets", site, code).first + 1)
    return sheets.enter_sheet(said, site=w.site(site), by=by)


def compare(w: World, by: Person, site: str, code: str) -> Any:
    return sheets.confirm_sheet(row(w, "sheet of a witness", site, code), by=by, proved=proved())


def confirm(w: World, by: Person, site: str, code: str) -> Any:
    return sheets.confirm_sheet(row(w, "sheet", site, code), by=by, proved=proved())


def print_some(w: World, by: Person, site: str, code: str) -> Any:
    return sheets.print_sheets(w.versions[code], 2, site=w.site(site), unit=None, by=by)


def lift_hold(w: World, by: Person, site: str, code: str) -> Any:
    held = purging.hold("A claim.", site=w.site(site), by=None)
    return take_back(held, "It was settled.", by=by, proved=proved())


ACTS = [
    Act("observe", AUTHORITY, lambda w, by, site, code: watched(w, site, code, person(w, site, "learner"), by)),
    Act("enter a sheet of paper", "works here", enter_from_paper),
    Act("confirm a sheet that another watched", "nobody", confirm),
    Act("compare a sheet of an outside witness with its photo", "authority for it here", compare),
    Act("take a sheet back", "authority for it here, or keeps the roster", taking_back("sheet")),
    Act("print sheets", "works here or reads the site", print_some),
    Act("sign off", AUTHORITY, sign),
    Act("withdraw", AUTHORITY, withdrawing),
    Act("mark too", AUTHORITY, lambda w, by, site, code: mark_too(row(w, "seen of the holder", site, code), MARKS, by=by, id=uuid4())),
    Act("answer a miss", AUTHORITY, lambda w, by, site, code: answer_miss(row(w, "seen of the holder", site, code), "Talked over.", site=w.site(site), by=by)),
    Act("talk a check through", AUTHORITY, lambda w, by, site, code: talk_through(w.versions[code], person(w, site, "learner"), site=w.site(site), by=by)),
    Act("take an observation back", AUTHORITY, taking_back("seen")),
    Act("take a sign-off back", AUTHORITY, taking_back("sign-off")),
    Act("undo a withdrawal", AUTHORITY, taking_back("withdrawal")),
    Act("take a try back", AUTHORITY, taking_back("try")),
    Act("take a talk back", AUTHORITY, taking_back("talk")),
    Act("take an answer to a miss back", AUTHORITY, taking_back("answer to a miss")),
    Act("take second marks back", AUTHORITY, taking_back("second marks")),
    Act("record a session", "authority for it here, or keeps the roster", lambda w, by, site, code: record_session(session(w, site), [w.versions[code]], [person(w, site, "learner")], by=by)),
    Act("correct a session", "authority for it here, or keeps the roster", correcting),
    Act("take a session back", "authority for it here, or keeps the roster", taking_back("session")),
    Act("check the instructions", "authority for it here, keeps the roster, or approves", lambda w, by, site, code: versions.check_instructions(w.versions[code], "Handbook", "5", site=w.site(site), by=by, proved=proved())),
    Act("take a check of instructions back", "authority for it here, keeps the roster, or approves", taking_back("instructions")),
    Act("approve what two sites share", "approves everywhere", lambda w, by, site, code: versions.approve(Draft.objects.get(procedure=w.procedures[code]), TODAY, site=w.site(site), by=by, proved=proved())),
    Act("retire what two sites share", "approves everywhere", lambda w, by, site, code: versions.retire(w.procedures[code], TODAY, "Not done here.", site=w.site(site), by=by)),
    Act("undo a retirement", "approves everywhere", undo_retirement),
    Act("draft", "drafts somewhere", lambda w, by, site, code: versions.start_draft(w.procedures[code], by=by)),
    Act("require here", "drafts here", requiring(everywhere=False)),
    Act("require everywhere", "drafts everywhere", requiring(everywhere=True)),
    Act("end a requirement of here", "drafts here", ending("requirement here")),
    Act("end a requirement of everywhere", "drafts everywhere", ending("requirement everywhere")),
    Act("give authority", "owns here", grant),
    Act("give authority to oneself", "nobody", grant_to_oneself),
    Act("end authority", "owns here", lambda w, by, site, code: grants.end_authority(row(w, "authority", site, code), TODAY, "She asked.", by=by)),
    Act("take authority back", "owns here", taking_back("authority")),
    Act("found", "owns here", founding("newcomer")),
    Act("found oneself", "nobody", founding("oneself")),
    Act("take a founding grant back", "owns here", taking_back("founding")),
    Act("carry over", ROSTER, carrying("newcomer")),
    Act("carry over for oneself", "nobody", carrying("oneself")),
    Act("take a carried-over record back", ROSTER, taking_back("carried over")),
]  # fmt: skip


def post(who: str, everywhere: bool = False, kind: Post = Post.COORDINATOR, away: bool = False) -> Do:
    def act(w: World, by: Person, site: str, code: str) -> Any:
        them = by if who == "oneself" else person(w, w.other(site) if away else site, who)
        new = Appointment(person=them, post=kind, site=None if everywhere else w.site(site), from_day=TODAY)
        return people.appoint(new, at=w.site(site), by=by)

    return act


def ending_post(kind: str) -> Do:
    return lambda w, by, site, code: people.end_appointment(row(w, kind, site), TODAY, at=w.site(site), by=by)


def leaving(who: str) -> Do:
    return lambda w, by, site, code: people.leave(person(w, site, who), TODAY, by=by)


def changing(w: World, by: Person, site: str, code: str) -> Any:
    who = person(w, site, "learner")
    who.email = "taken@example.org"
    return people.change_person(who, by=by)


def giving_role(away: bool) -> Do:
    def act(w: World, by: Person, site: str, code: str) -> Any:
        who = person(w, w.other(site) if away else site, "newcomer")
        return people.give_role(who, w.site(site), people.job_role(w.cast.organisation, "Sitter"), TODAY, by=by)

    return act


def answering(w: World, by: Person, site: str, code: str) -> Any:
    asked = SiteFact.objects.get(name="eye wash")
    done = answer_walk([WalkAnswer(asked, None, "By the sink", False)], site=w.site(site), by=by, submission=uuid4())
    assert done
    return done


def picturing(w: World, by: Person, site: str, code: str) -> Any:
    asked = SiteFact.objects.get(name="eye wash")
    return keep_photo(ShownPicture(b"jpeg", "The basin", fact=asked), site=w.site(site), by=by, id=uuid4())


def keeping(w: World, by: Person, site: str, code: str) -> Any:
    return findings.keep_elsewhere("Plan", "Office", "Hester", TODAY, site=w.site(site), by=by)


def asking(w: World, by: Person, site: str, code: str) -> Any:
    here = w.site(site)
    return binder.request_binder(here, here.register_start, TODAY, TODAY, in_full=True, paper="A4", by=by)


def pass_for(who: str) -> Do:
    def act(w: World, by: Person, site: str, code: str) -> Any:
        them = by if who == "oneself" else person(w, site, who)
        return binder.give_pass(row(w, "binder", site), them, TODAY, site=w.site(site), by=by)

    return act


def witness(w: World, by: Person, site: str, code: str) -> Any:
    words = {"printed_name": "Greta Lom", "qualification": "Trainer", "comes_from": "Away", "identified_how": "Badge"}
    return people.enter_witness(OutsideWitness(organisation=w.cast.organisation, **words), at=w.site(site), by=by)


def unit_of(w: World, site: str) -> Any:
    return w.cast.unit if site == "lane" else w.cast.other_unit


SET_LINE = {"material": "polymer or wax", "way": "dry", "position": "1", "tool": "fluted cutter"}


def start_a_job(w: World, by: Person, site: str, code: str) -> Any:
    lot = BlockLot.objects.create(site=w.site(site), lot="PW-1", material="polymer or wax", received_on=TODAY)
    asked = jobs.JobAsked(unit_of(w, site), lot, "26-1", wet=False)
    return jobs.start_job(asked, site=w.site(site), by=by, id=uuid4())


def hiring(w: World, by: Person, site: str, code: str) -> Any:
    them = Person(organisation=w.cast.organisation, home_site=w.site(site), given_name="Nell", family_name="Ashe")
    return people.hire(them, by=by)


def add_own_factor(w: World, by: Person, site: str, code: str) -> Any:
    account = Account.objects.filter(person=by).first()
    account = account or people.open_account(by, by=None, identity_checked="Passport.")[0]
    secret = new_secret()
    return add_app(account, "phone", secret, code_of(secret), id=uuid4())


def change_anothers_factors(w: World, by: Person, site: str, code: str) -> Any:
    them = person(w, site, "learner")
    return record(FactorChange(site=w.site(site), happened_on=TODAY, person=them, what="removed"), by=by)


OF_SITES = [
    Act("hold what could be purged", "owns here", lambda w, by, site, code: purging.hold("A claim.", site=w.site(site), by=by)),
    Act("lift a hold", "owns here", lift_hold),
    Act("appoint one of ours here", "owns here", post("newcomer")),
    Act("appoint an owner here", "owns here", post("newcomer", kind=Post.OWNER)),
    Act("appoint somebody of another site here", "owns the group", post("newcomer", away=True)),
    Act("appoint at every site", "owns the group", post("newcomer", everywhere=True)),
    Act("appoint an owner of every site", "owns the group", post("newcomer", everywhere=True, kind=Post.OWNER)),
    Act("appoint oneself here", "nobody", post("oneself", kind=Post.SAFETY_OFFICER)),
    Act("appoint oneself at every site", "nobody", post("oneself", everywhere=True, kind=Post.SAFETY_OFFICER)),
    Act("end a post of here", "owns here", ending_post("postholder")),
    Act("end a post of every site", "owns the group", ending_post("group postholder")),
    Act("enter the leaving of one of ours", ROSTER, leaving("newcomer")),
    Act("enter the leaving of who holds a post here", "owns here", leaving("postholder")),
    Act("enter the leaving of who holds a post everywhere", "owns the group", leaving("group postholder")),
    Act("hire", ROSTER, hiring),
    Act("change one of ours", ROSTER, changing),
    Act("plan days away", ROSTER, lambda w, by, site, code: days.plan_absence(person(w, site, "holder"), TODAY, TODAY, at=w.site(site), by=by)),
    Act("take days away back", ROSTER, lambda w, by, site, code: days.drop_absence(row(w, "absence", site), at=w.site(site), by=by)),
    Act("give a job role", ROSTER, giving_role(away=False)),
    Act("give a job role to somebody of another site", "keeps the roster of both", giving_role(away=True)),
    Act("open an account", ROSTER, lambda w, by, site, code: people.open_account(person(w, site, "newcomer"), by=by, identity_checked="Passport.")),
    Act("close an account", ROSTER, lambda w, by, site, code: roster.close_account(row(w, "account", site), at=w.site(site), by=by)),
    Act("open an account again", ROSTER, lambda w, by, site, code: roster.open_again(row(w, "account", site), at=w.site(site), by=by)),
    Act("sign somebody out", ROSTER, lambda w, by, site, code: roster.sign_out_everywhere(row(w, "account", site), at=w.site(site), by=by)),
    Act("add a second factor of one's own", "is one of the practice", add_own_factor),
    Act("change the second factors of somebody else", "nobody", change_anothers_factors),
    Act("enter a witness", ROSTER, witness),
    Act("move the register's start", ROSTER, lambda w, by, site, code: roster.set_register_start(w.site(site), TODAY, by=by)),
    Act("answer the walk round", "any authority here, or keeps the roster", answering),
    Act("keep a photo of the place", "any authority here, or keeps the roster", picturing),
    Act("take a photo of the place back", "any authority here, or keeps the roster", taking_back_of_site("place photo")),
    Act("take an answer of the walk round back", "any authority here, or keeps the roster", taking_back_of_site("answer")),
    Act("note what is kept elsewhere", ROSTER, keeping),
    Act("take what is kept elsewhere back", ROSTER, taking_back_of_site("kept")),
    Act("ask for a binder", "reads the site", asking),
    Act("check the seals", "reads the site", lambda w, by, site, code: findings.check_seals(w.site(site), by=by)),
    Act("give a pass", ROSTER, pass_for("newcomer")),
    Act("give oneself a pass", "nobody", pass_for("oneself")),
    Act("take a pass back", ROSTER, lambda w, by, site, code: binder.take_back_pass(row(w, "pass", site), site=w.site(site), by=by)),
    Act("start a job", "works here", start_a_job),
    Act("write down a line of a set", ROSTER, lambda w, by, site, code: jobs.want_in_set(unit_of(w, site), TODAY, by=by, **SET_LINE)),
    Act("keep something in stock", ROSTER, lambda w, by, site, code: stock.keep_in_stock(w.site(site), TODAY, by=by, name="Filters", shelf="coolant filter", line=2, full=6)),
    Act("keep a message of a unit", "works here", lambda w, by, site, code: stock.keep_message(w.site(site), unit_of(w, site), "E-17", "Shut the door.", by=by)),
    Act("stop a unit", "works here", lambda w, by, site, code: upkeep.stop_unit(unit_of(w, site), "It rattles.", site=w.site(site), by=by)),
    Act("file a near miss by name", "works here", lambda w, by, site, code: incidents.file_event(w.site(site), TODAY, by=by, kind="near miss", place="Bench", how="It slipped.")),
]  # fmt: skip


def may(act: Act, who: str, site: str, code: str) -> bool:
    """The table's answer."""
    return MAY[act.needs](HOLDS[who], site, code)
