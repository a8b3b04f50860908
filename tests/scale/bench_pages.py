"""How pages grow with the years of a practice. Run: python -m tests.scale.bench_pages [--years 12]

The demo practice is made once; then its own facts of eighteen months are laid before it again and again,
so that the same people have kept the register for longer. Processor time of each page, in milliseconds, and as a ratio to
the floor of the same run: reading the key and the day of every one of those facts once; then that of the first visit, which
has nothing to take up that was made of the same rows before. Everything is rolled back.
"""

import argparse
import os
import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta
from functools import partial
from uuid import uuid4

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clinic.settings")
os.environ.setdefault("MILLROOM_VAR", tempfile.mkdtemp(prefix="millroom-scale-"))

import django

django.setup()

from django.conf import settings  # noqa: E402 - models load only after the set-up
from django.core.management import call_command  # noqa: E402
from django.db import connection, transaction  # noqa: E402
from django.db.models import Count, Exists, OuterRef  # noqa: E402
from django.test import Client  # noqa: E402

from clinic import clock  # noqa: E402
from clinic.models import Account, Equipment, Fact, Person, Safeguard, Site, UpkeepEntry, Use  # noqa: E402
from training.demo.accounts import open_accounts  # noqa: E402
from training.demo.play import make  # noqa: E402
from training.finding_spans import rebuild  # noqa: E402
from training.models import (  # noqa: E402
    Authority,
    FindingSpan,
    FoundingGrant,
    KnowledgeResult,
    Observation,
    SignOff,
    StandingSpan,
)
from training.reads.findings.stored import computed, findings  # noqa: E402

MANY: list[type[Fact]] = [UpkeepEntry, Use, Observation, KnowledgeResult, SignOff, Safeguard]
PLAYED = timedelta(days=546)
LONG_AGO = date(2000, 1, 1)
WHEN = ("happened_on", "recorded_at", "valid_until", "reidentified_at")
ROUNDS = 5
PAGES = [
    "today/", "today/who-may/", "people/", "people/matrix/", "observe/week/", "upkeep/", "upkeep/water/", "upkeep/drivers/",
    "upkeep/in-time/", "audit/", "audit/owner/", "audit/coverage/",
]  # fmt: skip


def pages_of(site: Site) -> dict[str, str]:
    """What is printed of each page, and its address: of the site, of the person watched most often, of the unit most logged."""
    seen = Person.objects.filter(home_site=site).annotate(seen=Count("observed")).order_by("-seen", "pk")[0]
    unit = Equipment.objects.filter(site=site).annotate(done=Count("entries")).order_by("-done", "pk")[0]
    return {page: page for page in PAGES} | {
        "a person": f"people/{seen.pk}/",
        "their plan": f"people/{seen.pk}/plan/",
        "one procedure": f"people/{seen.pk}/P03/",
        "a unit": f"upkeep/equipment/{unit.pk}/",
    }


def lay_before(times: int) -> None:
    """The facts of the eighteen months once more, so many times that long ago, and the practice begun by then."""
    back = PLAYED * times
    for model in MANY:
        played = model.objects.filter(happened_on__gte=clock.today("UTC") - PLAYED, corrects=None)
        model.objects.bulk_create((earlier(row, back) for row in list(played)), batch_size=500)
    for place in Site.objects.all():
        place.register_start -= PLAYED
        place.save()
    for unit in Equipment.objects.all():
        unit.in_service_from -= PLAYED
        unit.save()


def held_for_ever() -> None:
    """Whoever came to hold something, or to sign for it, has done so all along: work and sign-offs of long ago are then no
    finding."""
    for model in (Authority, FoundingGrant):
        model.objects.bulk_create(earlier(row, row.happened_on - LONG_AGO) for row in list(model.objects.live()))
    usable = StandingSpan.objects.usable()
    same = usable.filter(person=OuterRef("person"), procedure=OuterRef("procedure"), first__lt=OuterRef("first"))
    usable.filter(~Exists(same)).update(first=LONG_AGO)


def earlier(row: Fact, back: timedelta) -> Fact:
    values = {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields} | {"id": uuid4()}
    return type(row)(**{name: value - back if name in WHEN and value else value for name, value in values.items()})


def floor() -> int:
    return sum(len(list(model.objects.values_list("pk", "happened_on"))) for model in MANY)


def findings_today(site: Site) -> object:
    return findings(site, clock.today(site.time_zone))


def milliseconds(work: Callable[[], object]) -> float:
    """Processor time, the median of five."""
    took = []
    for _ in range(ROUNDS):
        began = time.process_time()
        work()
        took.append((time.process_time() - began) * 1000)
    return statistics.median(took)


def report(client: Client, site: Site, years: float) -> None:
    """The findings of the site are stored first, as a worker does it; what that took and what is stored stands first."""
    began = time.process_time()
    rebuild(site)
    took = (time.process_time() - began) * 1000
    print(f"{FindingSpan.objects.filter(site=site).count()} stretches of findings stored in {took:.0f} ms")
    computing, reading = (milliseconds(partial(work, site)) for work in (computed, findings_today))
    print(f"findings of a day: computed {computing:.0f} ms, read {reading:.1f} ms")
    client.force_login(Account.objects.get(sign_in_name="marit.oldenburg"))  # an idle session locks itself
    plain = milliseconds(floor)
    print(f"{years:.1f} years, {floor()} facts; the floor {plain:.0f} ms")
    for page, address in pages_of(site).items():
        url = f"/{site.code}/{address}"
        began = time.process_time()
        assert client.get(url).status_code == 200, url
        first = (time.process_time() - began) * 1000
        took = milliseconds(lambda: client.get(url))  # noqa: B023
        print(f"  {page:<18} {took:>6.0f} ms {took / plain:>7.1f} x, at first {first:>6.0f} ms")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--years", type=float, default=12)
    most = parser.parse_args().years
    call_command("migrate", verbosity=0)
    with transaction.atomic():
        open_accounts(make(settings.DEMO_DIR, settings.LIBRARY_DIR, clock.today("Europe/London"), lambda said: None))
        client, site = Client(SERVER_NAME="localhost"), Site.objects.get(code="high-street")
        held_for_ever()
        for times in range(round(most / 1.5)):
            if times:
                lay_before(times)
            if times + 1 in (1, 2, 4, 8, 16):
                report(client, site, 1.5 * (times + 1))
        print(f"on {connection.vendor}")
        transaction.set_rollback(True)


if __name__ == "__main__":
    main()
