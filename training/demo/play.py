"""Playing the scenario from the first day to the last."""

from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from clinic import clock
from clinic.actions.people import enter_witness, leave
from clinic.keeping.rows import tell_planner
from clinic.models import Organisation, OutsideWitness, UpkeepTask
from clinic.port import code_of
from clinic.rules.roles import ProcedureRole
from training.demo.bench import Bench
from training.demo.careers import Careers
from training.demo.chemicals import list_chemicals
from training.demo.closing import close, make_what_waits
from training.demo.jobs import Jobs
from training.demo.kept import PLAYED_TO, DoesNotFit, Kept, Say, keep
from training.demo.messes import Messes
from training.demo.paper import play_paper
from training.demo.safeguards import keep_held, keep_safe
from training.demo.scenario import Scenario, key_of, read_scenario
from training.demo.setting_up import CARRIED, Cast, enter_person, give_authority, set_up
from training.demo.stock import keep_stock
from training.demo.upkeep import UpkeepPlayer
from training.demo.walking_round import walk_round
from training.finding_spans import rebuild_waiting
from training.rules.grants import spread
from training.rules.library import Library, read_library
from training.spans import many_facts

TOPIC_WEEKS = (0, 50)  # within a year of each other
TOGETHER = 6  # weeks after which the stored timelines are written; what reads them in between asks for older facts


@dataclass(slots=True)
class Players:
    """Whoever plays, each with what they remember."""

    cast: Cast
    careers: Careers
    bench: Bench
    jobs: Jobs
    messes: Messes


def players(cast: Cast, careers: Careers) -> Players:
    messes = cast.scenario.messes
    taken = {(mess["task"], mess["week"]) for mess in messes if mess["what"].startswith("late entry")}
    upkeep = UpkeepPlayer(cast, careers, list(UpkeepTask.objects.all()), taken)
    bench = Bench(cast, upkeep)
    return Players(cast, careers, bench, Jobs(cast, upkeep), Messes(cast, careers, upkeep, bench))


def play(
    folder: Path, library_folder: Path, last: date, say: Say = lambda _: None, *, served: bool = False
) -> Organisation:
    """Make the demo practice in the database. The same `last` day gives the same facts with the same ids. `served`: whether
    the binders of the last evening are left to whoever serves the register."""
    scenario = read_scenario(folder / "practice.yaml", last)
    with clock.replaying():
        played = begin(scenario, read_library(library_folder))
        play_weeks(played, 0, say)
        return finish(played, say, served=served)


def make(
    folder: Path, library_folder: Path, last: date, say: Say = lambda _: None, *, served: bool = False
) -> Organisation:
    """The same practice from the kept one, played on from its last whole week; all of it is played where that does not fit."""
    try:
        kept = Kept.read(folder, library_folder)
    except DoesNotFit as why:
        say(f"{why}, so all of it is played. That takes a minute or two; “manage.py demo --keep” keeps it anew.")
        return play(folder, library_folder, last, say, served=served)
    scenario = read_scenario(folder / "practice.yaml", last)
    with clock.replaying():
        played = players(*kept.take_up(scenario, read_library(library_folder), say))
        play_weeks(played, scenario.weeks, say)
        return finish(played, say, served=served)


def keep_anew(folder: Path, library_folder: Path, say: Say = lambda _: None) -> Path:
    """Play all whole weeks in the empty tables, and write them to the file."""
    scenario = read_scenario(folder / "practice.yaml", PLAYED_TO)
    with clock.replaying():
        played = begin(scenario, read_library(library_folder))
        play_weeks(played, 0, say)
    return keep(played.cast, played.careers, folder, library_folder)


def begin(scenario: Scenario, library: Library) -> Players:
    """The first day."""
    with many_facts(at_once=True):
        cast = set_up(scenario, library)
        walk_round(cast)
        careers = Careers(cast)
        remember_carried_over(cast, careers)
    return players(cast, careers)


def play_weeks(played: Players, begun: int, say: Say) -> None:
    """From a week on, up to the last day."""
    weeks = played.cast.scenario.weeks
    for first in range(begun, weeks + 1, TOGETHER):
        with many_facts(at_once=True):
            for week in range(first, min(first + TOGETHER, weeks + 1)):
                play_week(played, week)
                say(f"week {week} of {weeks}")
        tell_planner()


def finish(played: Players, say: Say, *, served: bool) -> Organisation:
    """The last evening."""
    say("the last evening")
    rebuild_waiting()  # it reads the findings often
    scenario = played.cast.scenario
    with clock.standing_at(scenario.instant(scenario.last - timedelta(days=1), 18)):
        close(played.cast)
        if not served:
            say("binders")
            make_what_waits()
    rebuild_waiting()
    for line in played.careers.refused:
        say(f"refused: {line}")
    return played.cast.organisation


def remember_carried_over(cast: Cast, careers: Careers) -> None:
    for actor in [actor for actor in cast.scenario.people if actor.carried_over]:
        for index, code in enumerate(CARRIED):
            careers.progress[actor.key, code].carried_until = spread(cast.scenario.start, index, len(CARRIED))


def play_week(played: Players, week: int) -> None:
    cast, careers, bench = played.cast, played.careers, played.bench
    days = cast.scenario.days_of(week)
    if not days:
        return
    come_and_go(cast, week, days[0])
    list_chemicals(cast, week, days[0])
    if week in TOPIC_WEEKS:
        topics = [text.code for text in cast.library.procedures if text.kind == "topic"]
        for site in cast.sites:
            careers.teach(days[0], topics, site)
    else:
        teach_newcomers(cast, careers, week, days[0])
    for day in days:
        careers.play_day(day)
    bench.play_week(week, days)
    bench.upkeep.play_week(week, days)
    played.jobs.play_week(week, days)
    play_paper(cast, careers, week, days)
    keep_safe(cast, week)
    keep_held(cast, week)
    keep_stock(cast, week)
    for mess in cast.scenario.messes:
        if mess["week"] == week:
            played.messes.play(mess, days[min(3, len(days) - 1)])


def teach_newcomers(cast: Cast, careers: Careers, week: int, day: date) -> None:
    """Bloodborne pathogens on the first day, before anybody may meet blood."""
    for actor in cast.scenario.people:
        if actor.week == week and actor.role and cast.scenario.roles[actor.role]:
            careers.teach(day, [code_of(cast.organisation, ProcedureRole.PATHOGENS)], actor.site, only=actor.key)


def come_and_go(cast: Cast, week: int, monday: date) -> None:
    with clock.standing_at(cast.scenario.instant(monday, 8)):
        for actor in cast.scenario.people:
            if actor.week == week and week > 0:
                enter_person(cast, actor)
            if actor.supervises_week == week and week > 0:
                give_authority(cast, actor, monday)
            if actor.leaves_week == week:
                leave(cast.people[actor.key], monday + timedelta(days=4), by=cast.owner)
        if week == 28:
            witness = cast.scenario.witness
            row = OutsideWitness(
                id=key_of("witness"), organisation=cast.organisation, printed_name=witness["name"],
                qualification=witness["qualification"], comes_from=witness["comes_from"], identified_how=witness["identified_how"],
            )  # fmt: skip
            cast.witness = enter_witness(row, at=cast.sites["high-street"], by=cast.owner)
