"""Many more people at the larger site of the demo practice, and how many questions a page asks then."""

from datetime import timedelta

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from clinic import clock
from clinic.models import JobRole, Person, RoleHeld
from tests.demo import Demo
from training.models import EvidenceSpan, Procedure, StandingSpan


def crowd(demo: Demo, size: int) -> None:
    """Each with a role and a standing in every procedure there is."""
    site = demo.high_street
    role = JobRole.objects.get(organisation=demo.organisation, title="Dental assistant")
    people = Person.objects.bulk_create(
        Person(organisation=demo.organisation, home_site=site, given_name=f"Guest {n}", family_name=f"Of {size}")
        for n in range(size)
    )
    RoleHeld.objects.bulk_create(
        RoleHeld(person=person, site=site, job_role=role, from_day=site.register_start) for person in people
    )
    pairs = [(person, procedure) for person in people for procedure in Procedure.objects.of(demo.organisation)]
    span = {"first": site.register_start, "after": None, "state": "current", "usable": True, "basis": "observed"}
    ends = {"ends_on": site.register_start + timedelta(days=4000), "ends_because": "valid until"}
    StandingSpan.objects.bulk_create(StandingSpan(person=who, procedure=what, **span, **ends) for who, what in pairs)
    EvidenceSpan.objects.bulk_create(
        EvidenceSpan(person=who, procedure=what, first=site.register_start, evidence="some") for who, what in pairs
    )


def questions(client: Client, urls: list[str]) -> dict[str, int]:
    """How many questions each page asks the database."""
    asked = {}
    client.get(urls[0])
    # a session says once a minute that it was seen, which is no question of the page
    with clock.standing_at(clock.now()):
        for url in urls:
            with CaptureQueriesContext(connection) as seen:
                client.get(url)
            asked[url] = len(seen)
    return asked
