"""When a person works: the days of the week, and the days they are planned to be away. Used for who can cover."""

from datetime import date

from django.db import transaction

from clinic.changes import change, make, remove
from clinic.models import Absence, Change, Person, Site
from clinic.record import Refusal, only_if_allowed, refuse_if
from clinic.rights import against_change
from clinic.rules.words import short_day


@transaction.atomic
def set_working_days(person: Person, days: str, *, at: Site, by: Person) -> Person:
    """`days`: seven of 0 and 1, Monday first; empty: as the site works. Refuses a week without a day."""
    refuse_if(
        Refusal("No day is chosen.", "Choose the days worked, or enter the last day worked on the roster.", "days")
        if days and "1" not in days
        else None
    )
    person.working_days = days
    said = f"Working days of {person.printed_name} changed"
    change(person, site=at, by=by, said=said, only=["working_days"])
    return person


@transaction.atomic
def plan_absence(person: Person, first: date, last: date, *, at: Site, by: Person) -> Absence:
    """Away from a day through a day, both not worked. The same sent again is one."""
    row = Absence(person=person, from_day=first, to_day=last)
    only_if_allowed(against_change(by, row, at))
    if there := Absence.objects.filter(person=person, from_day=first, to_day=last).first():
        return there
    overlap = Absence.objects.filter(person=person, from_day__lte=last, to_day__gte=first).order_by("from_day").first()
    refuse_if(
        Refusal("It ends before it starts.", f"Give {short_day(first)} or a later day.", "to_day")
        if last < first
        else None,
        Refusal(
            f"{person.printed_name} is away already from {short_day(overlap.from_day)} through {short_day(overlap.to_day)}.",
            "Take that one away first, or choose other days.",
            "from_day",
        )
        if overlap
        else None,
    )
    said = f"{person.printed_name} away from {short_day(first)} through {short_day(last)}"
    return make(row, site=at, by=by, said=said)


def drop_absence(absence: Absence, *, at: Site, by: Person) -> None:
    """The person is at work in those days after all."""
    said = f"{absence.person.printed_name} not away from {short_day(absence.from_day)} after all"
    remove(absence, site=at, by=by, said=said)


def was_dropped(person: Person, key: str) -> bool:
    """Whether such an absence of theirs was taken away before: the form was sent again."""
    changes = Change.objects.filter(about=Absence._meta.label_lower, about_id=key, after={})
    return changes.filter(before__person_id=str(person.pk)).exists()
