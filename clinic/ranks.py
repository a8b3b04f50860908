"""How high somebody stands at each site: the rows behind `clinic.rules.ranks`."""

from clinic.models import Appointment, Person
from clinic.permissions import Allowed, May, covers
from clinic.rules.ranks import OF_POST, SIGNS, stands_as_high


def ranks_of(person: Person, *, to_come: bool = False) -> dict[int, int]:
    """By site, today. With `to_come` also what somebody is appointed to from a later day: an account opened today is theirs
    then."""
    allowed = Allowed(person)
    found = {site: SIGNS for site, verbs in allowed.verbs.items() if May.SIGN in verbs}
    for row in Appointment.objects.filter(person=person):
        for site, day in allowed.days.items():
            holds = covers(row.from_day, row.to_day, max(day, row.from_day) if to_come else day)
            if row.site_id in (None, site) and holds:
                found[site] = max(found.get(site, 0), OF_POST.get(row.post, 0))
    return found


def may_open_for(one: Person, other: Person) -> bool:
    """Whether one stands high enough to hold a code that opens the other's account."""
    return one.organisation_id == other.organisation_id and stands_as_high(
        ranks_of(one), ranks_of(other, to_come=True), other.home_site_id
    )
