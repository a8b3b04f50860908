"""Who may do a procedure on a day, for thousands of people: the stored spans against one raw statement over sign-offs.

    python -m tests.scale.bench_matrix [--people 5000]        on the database that DATABASE_URL names, else SQLite

Both answers are read from the same rows in the same run: the raw statement is the floor (the newest sign-off of each person
by that day, still valid), which knows nothing of holds, idle days, deadlines or withdrawals; the stored spans know all of it.
Everything is rolled back.
"""

import argparse
import os
import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clinic.settings")
os.environ.setdefault("MILLROOM_VAR", tempfile.mkdtemp(prefix="millroom-scale-"))

import django

django.setup()

from django.core.management import call_command  # noqa: E402 - models load only after the set-up
from django.db import connection, transaction  # noqa: E402

from clinic import clock  # noqa: E402
from clinic.models import Organisation, Person, Site  # noqa: E402
from training.models import Procedure, SignOff, StandingSpan, Version  # noqa: E402

START, YEARS, ROUNDS = date(2016, 1, 4), 10, 7
ASKED = date(2021, 6, 30)
NEWEST = """
SELECT person_id FROM (
  SELECT s.person_id, s.valid_until, ROW_NUMBER() OVER (
    PARTITION BY s.person_id ORDER BY s.happened_on DESC, s.recorded_at DESC, s.id DESC) AS place
  FROM training_signoff s JOIN training_version v ON v.id = s.version_id
  WHERE v.procedure_id = %s AND s.happened_on <= %s) newest
WHERE place = 1 AND valid_until >= %s
"""


def fill(people: int) -> Procedure:
    """One procedure, a sign-off a year for everybody, and the spans that follow from them."""
    organisation = Organisation.objects.create(name="Bench")
    site = Site.objects.create(organisation=organisation, name="Bench", code="bench", register_start=START)
    staff = Person.objects.bulk_create(
        Person(organisation=organisation, home_site=site, given_name=f"No. {n}", family_name="Bench")
        for n in range(people)
    )
    procedure = Procedure.objects.create(
        organisation=organisation, code="B01", title="Bench", area="bench", equipment_kind="milling unit"
    )
    common = {"site": site, "recorded_at": clock.now()}
    version = Version.objects.create(
        procedure=procedure, number=1, in_force_from=START, happened_on=START, content={}, policy={}, **common
    )
    days = [START + timedelta(days=350 * year) for year in range(YEARS)]
    SignOff.objects.bulk_create(
        (
            SignOff(
                person=who, version=version, signer=staff[0] if who != staff[0] else staff[1], signer_name="x", meaning="x",
                statement="x", evidence=[], happened_on=day, valid_until=day + timedelta(days=365), reidentified="x",
                reidentified_at=clock.now(), **common,
            )
            for who in staff for day in days
        ),
        batch_size=2000,
    )  # fmt: skip
    StandingSpan.objects.bulk_create(
        (
            StandingSpan(
                person=who, procedure=procedure, first=day, after=day + timedelta(days=350), state="current", usable=True,
                basis="observed", ends_on=days[-1] + timedelta(days=365), ends_because="valid until",
            )
            for who in staff for day in days
        ),
        batch_size=2000,
    )  # fmt: skip
    return procedure


def stored(procedure: Procedure) -> int:
    return len(StandingSpan.objects.on(ASKED).usable().filter(procedure=procedure).values_list("person", flat=True))


def raw(procedure: Procedure) -> int:
    with connection.cursor() as cursor:
        cursor.execute(NEWEST, [procedure.pk, ASKED, ASKED])
        return len(cursor.fetchall())


def timed(question: Callable[[Procedure], int], procedure: Procedure) -> tuple[int, float]:
    """The answer, and the median of seven askings in milliseconds."""
    found, took = 0, []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        found = question(procedure)
        took.append((time.perf_counter() - began) * 1000)
    return found, statistics.median(took)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--people", type=int, default=1000)
    most = parser.parse_args().people
    call_command("migrate", verbosity=0)
    print(f"{connection.vendor}: people, answers, stored ms, raw ms, stored ÷ raw")
    for people in (most // 4, most):
        with transaction.atomic():
            procedure = fill(people)
            (one, spans), (other, floor) = timed(stored, procedure), timed(raw, procedure)
            assert one == other == people, "the two answers differ"
            print(f"{people:>8} {one:>8} {spans:>9.1f} {floor:>9.1f} {spans / floor:>8.2f}")
            transaction.set_rollback(True)


if __name__ == "__main__":
    main()
