"""What falls with closed days, and with a driver that fails, before either is recorded."""

from datetime import date

from clinic import clock
from clinic.models import Equipment, Site
from clinic.port import what_ends_meanwhile
from clinic.reads.drivers import DriverNow, details_on, drivers_now, jobs_since, last_pass_of, verifications_of
from clinic.reads.upkeep import everything, silenced_by, unit_tasks
from clinic.rules.consequences import FallsDue, closed_words, failing_words


def stays(site: Site, first: date, after: date) -> list[FallsDue]:
    """Tasks that only a pass renews, and that fall due while it is closed."""
    found, today = [], clock.today(site.time_zone)
    for one in unit_tasks(site, everything(site)):
        through = next((span.last_good for span in one.spans if span.holds_on(today)), None)
        if through and one.task.only_a_pass and first <= through < after:
            found.append(FallsDue(f"{one.task.title}, {one.unit}", through))
    return found


def closing_falls(site: Site, first: date, after: date, today: date) -> list[str]:
    """Beside the button that closes it; what was judged already comes with the rest."""
    people = what_ends_meanwhile(site, max(first, today), after) if after > today else []
    return closed_words(silenced_by(site, first, after, today), stays(site, first, after), people)


def others_for(unit: Equipment, seat: str, today: date) -> list[DriverNow]:
    """Other drivers of the seat that may be used today."""
    found = drivers_now(unit.site, today)
    return [one for one in found if one.unit != unit and one.seat == seat and not one.refused]


def failing_falls(unit: Equipment, today: date) -> list[str]:
    """Beside the readings of a driver that is in use."""
    details, last_pass = details_on(unit, today), last_pass_of(unit, verifications_of(unit))
    seat = details.seat if details else ""
    others = [one.unit.label for one in others_for(unit, seat, today)]
    return failing_words(unit.label, seat, len(jobs_since(unit, last_pass)), last_pass, others)
