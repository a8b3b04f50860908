"""Playing the scenario from the first day to the last."""

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

from django.db import connection

from clinic import clock
from clinic.actions.people import enter_witness, leave
from clinic.models import Organisation, OutsideWitness, UpkeepTask
from clinic.port import code_of
from clinic.rules.roles import ProcedureRole
from training.demo.bench import Bench
from training.demo.careers import Careers
from training.demo.chemicals import list_chemicals
from training.demo.closing import close
from training.demo.jobs import Jobs
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
from training.rules.library import read_library
from training.spans import many_facts

TOPIC_WEEKS = (0, 50)  # within a year of each other
TOGETHER = 6  # weeks after which the stored timelines are written; what reads them in between asks for older facts


def play(folder: Path, library_folder: Path, last: date, say: Callable[[str], object] = lambda _: None) -> Organisation:
    """Make the demo practice in the database. The same `last` day gives the same facts with the same ids."""
    scenario = read_scenario(folder / "practice.yaml", last)
    with clock.replaying():
        return play_through(scenario, library_folder, say)


def play_through(scenario: Scenario, library_folder: Path, say: Callable[[str], object]) -> Organisation:
    with many_facts():
        cast = set_up(scenario, read_library(library_folder))
        walk_round(cast)
        careers = Careers(cast)
        remember_carried_over(cast, careers)
    taken = {(mess["task"], mess["week"]) for mess in scenario.messes if mess["what"].startswith("late entry")}
    upkeep = UpkeepPlayer(cast, careers, list(UpkeepTask.objects.all()), taken)
    bench = Bench(cast, upkeep)
    jobs, messes = Jobs(cast, upkeep), Messes(cast, careers, upkeep, bench)
    for first in range(0, scenario.weeks + 1, TOGETHER):
        with many_facts():
            for week in range(first, min(first + TOGETHER, scenario.weeks + 1)):
                play_week(cast, careers, bench, jobs, messes, week)
                say(f"week {week} of {scenario.weeks}")
        tell_planner()
    rebuild_waiting()  # the last evening reads the findings often
    close(cast)
    rebuild_waiting()
    for line in careers.refused:
        say(line)
    return cast.organisation


def tell_planner() -> None:
    """All is played in one transaction, of whose rows PostgreSQL's planner knows nothing until it is told; it would go on
    reading whole tables that it takes for empty."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")


def remember_carried_over(cast: Cast, careers: Careers) -> None:
    for actor in [actor for actor in cast.scenario.people if actor.carried_over]:
        for index, code in enumerate(CARRIED):
            careers.progress[actor.key, code].carried_until = spread(cast.scenario.start, index, len(CARRIED))


def play_week(cast: Cast, careers: Careers, bench: Bench, jobs: Jobs, messes: Messes, week: int) -> None:
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
    jobs.play_week(week, days)
    play_paper(cast, careers, week, days)
    keep_safe(cast, week)
    keep_held(cast, week)
    keep_stock(cast, week)
    for mess in cast.scenario.messes:
        if mess["week"] == week:
            messes.play(mess, days[min(3, len(days) - 1)])


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
