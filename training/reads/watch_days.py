"""On which days somebody may be watched in what: both at work at the site, and the watcher with authority."""

from dataclasses import replace
from datetime import date, timedelta

from clinic.models import Person, Site
from training.models import Procedure
from training.reads.coverage import signing_stretches
from training.reads.plan import Training
from training.reads.week import days_at_work
from training.rules.coverage import inside

LOOKS = 90  # days ahead, as the coverage does


def watch_days(person: Person, site: Site, day: date) -> dict[str, tuple[date, ...]]:
    """By procedure that is watched. A fixed number of queries."""
    people = list(Person.objects.at_site(site, day).by_name())
    days = [day + timedelta(days=n) for n in range(LOOKS)]
    at_work = days_at_work(site, [*people, person], days)
    duties = list(Procedure.objects.of(site.organisation).filter(kind=Procedure.Kind.PRACTICE))
    found: dict[str, set[date]] = {duty.code: set() for duty in duties}
    for watcher, by_code in signing_stretches(site, duties).items():
        both = at_work.get(watcher, frozenset()) & at_work[str(person.pk)] if watcher != str(person.pk) else ()
        for code, stretches in by_code.items():
            found[code] |= {each for each in both if inside(stretches, each)}
    return {code: tuple(sorted(those)) for code, those in found.items()}


def possible(training: Training, site: Site) -> Training:
    """The same, with earliest finishes on days on which somebody may really watch."""
    return replace(training, watch_days=watch_days(training.person, site, training.day))
