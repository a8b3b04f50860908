"""A version and an authority in a practice of thousands: what whoever records it waits for, and what the worker does after it.

    python -m tests.scale.bench_approvals [--people 1000]        on the database that DATABASE_URL names, else SQLite

Everybody was signed in a chain of procedures, each resting on the one before it, year after year. Processor time, of this
program: recorded with everything rebuilt at once, as a small practice has it; recorded with only marks; what waits read for
one person and for everybody at a small site; and the worker. Everything is rolled back.
"""

import argparse
import os
import tempfile
import time
from collections.abc import Callable
from contextlib import contextmanager
from datetime import date, timedelta
from typing import Any

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clinic.settings")
os.environ.setdefault("MILLROOM_VAR", tempfile.mkdtemp(prefix="millroom-approvals-"))

import django

django.setup()

from django.core.management import call_command  # noqa: E402 - models load only after the set-up
from django.db import connection, transaction  # noqa: E402

from clinic import clock  # noqa: E402
from clinic.models import Organisation, Person, Site  # noqa: E402
from clinic.record import record  # noqa: E402
from training import computed_now, storing, waiting  # noqa: E402
from training.models import Authority, Procedure, SignOff, SpansWaiting, StandingSpan, Version  # noqa: E402
from training.rules.facts import Policy  # noqa: E402
from training.rules.texts import policy_to_json  # noqa: E402
from training.spans import rebuild  # noqa: E402

START, YEARS, CHAIN, SMALL = date(2020, 6, 1), 5, 6, 20
TODAY = date(2025, 3, 3)
Act = Callable[[], object]


def fill(people: int) -> tuple[Site, list[Procedure], list[Person]]:
    """All at one site but a few at another."""
    organisation = Organisation.objects.create(name="Bench")
    site, other = (
        Site.objects.create(organisation=organisation, name=code, code=code, register_start=START)
        for code in ("bench", "small")
    )
    staff = Person.objects.bulk_create(
        Person(
            organisation=organisation, home_site=other if n < SMALL else site, given_name=f"No. {n}", family_name="B"
        )
        for n in range(people)
    )
    procedures = [
        Procedure.objects.create(
            organisation=organisation, code=f"B{n:02}", title=f"Bench {n}", area="bench", equipment_kind="milling unit"
        )
        for n in range(CHAIN)
    ]
    common = {"site": site, "recorded_at": clock.now()}
    versions = [
        Version.objects.create(
            procedure=each, number=1, in_force_from=START, happened_on=START, content={"purpose": "", "steps": []},
            policy=policy_to_json(policy(number)), **common,
        )
        for number, each in enumerate(procedures)
    ]  # fmt: skip
    signed = {
        "signer_name": "x", "meaning": "x", "statement": "x", "evidence": [], "reidentified": "x",
        "reidentified_at": clock.now(),
    }  # fmt: skip
    SignOff.objects.bulk_create(
        (
            SignOff(
                person=who, version=version, happened_on=START + timedelta(days=350 * year),
                signer=staff[who == staff[0]], **signed, **common,
            )
            for who in staff for version in versions for year in range(YEARS)
        ),
        batch_size=2000,
    )  # fmt: skip
    return site, procedures, staff


def policy(number: int, **more: Any) -> Policy:
    below = (f"B{number - 1:02}",) if number else ()
    return Policy(check_asked=False, needed=0, renewal_months=12, prerequisites=below, **more)


def version_of(site: Site, procedure: Procedure) -> Act:
    """The second one, to be watched again within the month: everybody falls from another day."""
    return lambda: record(
        Version(
            site=site, happened_on=TODAY, procedure=procedure, number=2, in_force_from=TODAY,
            content={"purpose": "", "steps": []}, policy=policy_to_json(policy(0, reobserve_days=30)),
        ),
        by=None,
    )  # fmt: skip


def authority_of(site: Site, person: Person) -> Act:
    return lambda: record(
        Authority(site=site, happened_on=TODAY, person=person, to_day=None, procedures=[], areas=["bench"]), by=None
    )


@contextmanager
def taken_back() -> Any:
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def seconds(act: Act) -> float:
    began = time.process_time()
    act()
    return time.process_time() - began


def measured(act: Act, people: list[Person]) -> tuple[float, ...]:
    most = waiting.AT_ONCE
    with taken_back():
        waiting.AT_ONCE = 10**9
        before = seconds(act)
    waiting.AT_ONCE = most
    with taken_back():
        after = seconds(act)
        marks = SpansWaiting.objects.count()
        here = StandingSpan.objects.on(TODAY).usable()
        one = seconds(lambda: list(here.filter(person=people[-1])))
        few = seconds(lambda: list(here.filter(person__in=[person.pk for person in people[:SMALL]])))
        computed_now._kept.clear()
        worker = seconds(storing.store_waiting)
    return before, after, marks, one, few, worker


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--people", type=int, default=1000)
    people = parser.parse_args().people
    call_command("migrate", verbosity=0)
    with taken_back():
        site, procedures, staff = fill(people)
        took = seconds(lambda: rebuild(staff))
        print(
            f"{people} people, {StandingSpan.objects.count()} spans ({took:.1f} s), on {connection.vendor}; in seconds"
        )
        print(
            f"{'act':<10} {'at once':>9} {'marked':>8} {'waits':>6} {'read one':>9} {f'read {SMALL}':>9} {'worker':>8}"
        )
        for name, act in {
            "version": version_of(site, procedures[0]),
            "authority": authority_of(site, staff[-1]),
        }.items():
            before, after, marks, one, few, worker = measured(act, staff)
            print(f"{name:<10} {before:>9.2f} {after:>8.3f} {marks:>6} {one:>9.3f} {few:>9.3f} {worker:>8.2f}")


if __name__ == "__main__":
    main()
