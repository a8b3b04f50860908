"""People come, change their role and leave."""

from datetime import date

from django.db import transaction
from django.db.models import Q
from django.utils.text import slugify

from clinic.accounts import end_sessions, invite
from clinic.changes import change, make, make_once, note
from clinic.models import (
    Account,
    Appointment,
    Equipment,
    JobRole,
    Organisation,
    OutsideWitness,
    Person,
    Post,
    RoleHeld,
    Site,
)
from clinic.namesakes import NAMED, against_name, one_at_a_time, tell_apart
from clinic.ranks import may_open_for
from clinic.record import Refusal, only_if_allowed, refuse_if
from clinic.rights import against_change, against_lending
from clinic.rules.words import short_day


def job_role(organisation: Organisation, title: str, *, at: Site | None = None, by: Person | None = None) -> JobRole:
    """The job role of that title, made if it is new. Capitals do not make another one. `at`: in whose chain that stands; in
    that of the oldest site, where it is left out."""
    title = title.strip()
    found = JobRole.objects.filter(organisation=organisation, title__iexact=title).first()
    chain = at or organisation.oldest_site
    return found or make(
        JobRole(organisation=organisation, title=title), site=chain, by=by, said=f"Job role {title} entered"
    )


@transaction.atomic
def hire(person: Person, *, by: Person | None) -> Person:
    """Enter a person. Their roles follow. Refused without a staff number where somebody else has the name."""
    one_at_a_time(person.organisation)
    refuse_if(against_name(person))
    made = make(person, site=person.home_site, by=by, said=f"{person.whole_name} entered")
    tell_apart(person.organisation, person.whole_name)
    made.refresh_from_db(fields=["has_namesake"])
    return made


@transaction.atomic
def change_person(person: Person, *, by: Person) -> Person:
    """Store the columns of a person as they say now. What was there before hinders no other change."""
    one_at_a_time(person.organisation)
    was = Person.objects.get(pk=person.pk)
    moved = any(getattr(was, name) != getattr(person, name) for name in NAMED)
    refuse_if(against_name(person) if moved else None)
    change(person, site=person.home_site, by=by, said=f"{person.whole_name} changed")
    tell_apart(person.organisation, was.whole_name, person.whole_name)
    person.refresh_from_db(fields=["has_namesake"])
    return person


@transaction.atomic
def give_role(
    person: Person, site: Site, role: JobRole, from_day: date, *, by: Person | None, to_day: date | None = None
) -> RoleHeld:
    """A person holds a job role from a day (and until one, where it is known). Given twice for the same days, it is one."""
    only_if_allowed(against_lending(by, person, site))
    overlapping = RoleHeld.objects.filter(person=person, site=site, job_role=role).held_in(from_day, to_day or date.max)
    same = overlapping.filter(from_day=from_day, to_day=to_day).first()
    if same:
        return same
    refuse_if(
        Refusal(
            f"{person} already holds {role} in those days.", "End that one first, or choose a later day.", "from_day"
        )
        if overlapping.exists()
        else None,
        Refusal("The role ends before it starts.", "Choose a last day on or after the first.", "to_day")
        if to_day and to_day < from_day
        else None,
    )
    held = RoleHeld(person=person, site=site, job_role=role, from_day=from_day, to_day=to_day)
    return make(held, site=site, by=by, said=f"{person}: {role} from {short_day(from_day)}")


def end_role(held: RoleHeld, last: date, *, by: Person | None) -> RoleHeld:
    """The last good day of a job role."""
    refuse_if(
        Refusal("The last day is before the role started.", f"Choose {short_day(held.from_day)} or later.", "to_day")
        if last < held.from_day
        else None
    )
    held.to_day = last
    change(held, site=held.site, by=by, said=f"{held} ends {short_day(last)}", only=["to_day"])
    return held


@transaction.atomic
def leave(person: Person, last: date, *, by: Person) -> Person:
    """The last day worked: every role and post ends with it, and the account shuts after it. History stays.

    A post ends with it only by whoever may end the post: of the group, by an owner of the group."""
    person.last_day = last
    said = f"{person} leaves, last day {short_day(last)}"
    change(person, site=person.home_site, by=by, said=said, only=["last_day"])
    for held in person.roles_held.filter(to_day__isnull=True, from_day__lte=last):
        end_role(held, last, by=by)
    for post in person.appointments.filter(Q(to_day__isnull=True) | Q(to_day__gt=last), from_day__lte=last):
        end_appointment(post, last, at=person.home_site, by=by)
    account = Account.objects.filter(person=person).first()
    if account:
        end_sessions(account)
    return person


@transaction.atomic
def appoint(appointment: Appointment, *, at: Site, by: Person | None) -> Appointment:
    """Give somebody a post from a day. The same sent again is given once; another for days of it is refused."""
    only_if_allowed(against_change(by, appointment, at))
    still = Q(to_day__isnull=True) | Q(to_day__gte=appointment.from_day)
    same = Appointment.objects.filter(still, person=appointment.person, post=appointment.post, site=appointment.site)
    if there := same.filter(from_day=appointment.from_day, to_day=appointment.to_day).first():
        return there
    refuse_if(
        Refusal(f"{appointment.person} holds that post in those days already.", "End that one first.", "post")
        if same.exists()
        else None
    )
    said = f"{appointment.person} appointed {appointment.get_post_display()} from {short_day(appointment.from_day)}"
    return make(appointment, site=at, by=by, said=said)


@transaction.atomic
def end_appointment(appointment: Appointment, last: date, *, at: Site, by: Person) -> Appointment:
    """The last good day of a post. The last owner keeps it: somebody has to appoint and approve."""
    only_if_allowed(against_change(by, appointment, at))
    first = appointment.from_day
    refuse_if(
        Refusal("That is before it began.", f"Choose {short_day(first)} or later.", "to_day") if last < first else None,
        Refusal("Nobody else would be owner after that day.", "Appoint another owner first.", "to_day")
        if appointment.post == Post.OWNER and not another_owner(appointment)
        else None,
    )
    appointment.to_day = last
    change(appointment, site=at, by=by, said=f"{appointment} ends {short_day(last)}", only=["to_day"])
    return appointment


def another_owner(appointment: Appointment) -> bool:
    """Whether somebody who stays owns all that this post owns: the group, or this site."""
    reach = Q(site__isnull=True) if appointment.site_id is None else Q(site__isnull=True) | Q(site=appointment.site_id)
    rows = Appointment.objects.filter(
        reach, post=Post.OWNER, to_day__isnull=True, person__organisation=appointment.person.organisation_id
    )
    return rows.exclude(person=appointment.person).filter(person__last_day__isnull=True).exists()


@transaction.atomic
def open_account(person: Person, *, by: Person | None, identity_checked: str) -> tuple[Account, str]:
    """An account without a password and the invitation code to choose one; for an account that nobody chose a password for
    yet, a new code. Says how it was checked who they are (E-17). `by` None: at the machine itself."""
    only_if_allowed(against_change(by, person, person.home_site))
    account = Account.objects.filter(person=person).first()
    refuse_if(
        Refusal(f"{person} has an account and a password.", "Ask for a recovery: a second person confirms it.")
        if account and account.has_usable_password()
        else None,
        Refusal(
            f"You do not stand as high as {person} at {person.home_site}, and a code that opens an account is for nobody below it.",
            "Let somebody with the same post or a higher one do it.",
        )
        if by and not may_open_for(by, person)
        else None,
    )
    if account is None:
        account = Account(person=person, sign_in_name=free_name(person), identity_checked=identity_checked)
        account.set_unusable_password()
        make(account, site=person.home_site, by=by, said=f"Account for {person} opened")
    else:
        note(account, site=person.home_site, by=by, said=f"A new invitation for {person}")
    return account, invite(account, by=by)


# Letters that do not fall apart into a plain one and an accent.
SPELT = str.maketrans(
    {"ł": "l", "Ł": "L", "ø": "o", "Ø": "O", "đ": "d", "Đ": "D", "ß": "ss", "æ": "ae", "Æ": "Ae", "œ": "oe"}
)


def free_name(person: Person) -> str:
    """given.family, with a number where that name was ever taken."""
    given, family = (slugify(name.translate(SPELT)) for name in (person.given_name, person.family_name))
    base = f"{given}.{family}"[:50].strip(".-") or "person"
    number, name = 1, base
    while Account.objects.filter(sign_in_name__iexact=name).exists():
        number += 1
        name = f"{base}.{number}"
    return name


def enter_witness(witness: OutsideWitness, *, at: Site, by: Person) -> OutsideWitness:
    """Somebody without an account who watched, and how it was checked who they are."""
    return make(witness, site=at, by=by, said=f"Outside witness {witness.printed_name} entered")


def enter_equipment(unit: Equipment, *, by: Person | None) -> Equipment:
    """A unit, in service from a day. The same sent again is one; another of its name is refused."""
    there = Equipment.objects.filter(site=unit.site, label__iexact=unit.label).first()
    taken = Refusal("Another unit here has this name.", "Write what tells them apart.", "label")
    return make_once(unit, there, taken, site=unit.site, by=by, said=f"{unit.label} entered, {unit.kind}")
