"""People, and the job roles and posts they hold from a day to a day."""

import uuid
from collections.abc import Mapping
from datetime import date
from typing import Any, Self

from django.db import models
from django.db.models import Q, Value
from django.db.models.functions import Concat, Length, Lower

from clinic.models.organisation import Organisation, Site
from clinic.rules.words import name_then, printed_name, same_name

NAME_COLUMNS = ("given_name", "family_name", "staff_number", "has_namesake")


def holds_on(day: date) -> Q:
    """The condition "from_day ≤ day and (no to_day, or day ≤ to_day)". Both ends are good days."""
    return Q(from_day__lte=day) & (Q(to_day__isnull=True) | Q(to_day__gte=day))


class JobRole(models.Model):
    """A job title of the practice, such as dental assistant. Requirements hang on these."""

    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="job_roles")
    title = models.CharField(max_length=80)

    class Meta:
        ordering = ["title"]
        constraints = [models.UniqueConstraint("organisation", Lower("title"), name="job_role_title_once")]

    def __str__(self) -> str:
        return self.title


class PersonQuerySet(models.QuerySet):  # type: ignore[type-arg]
    def at_site(self, site: Site, on: date) -> Self:
        """Who holds a job role at the site on the day."""
        return self.filter(pk__in=RoleHeld.objects.filter(holds_on(on), site=site).values("person"))

    def ever_at_site(self, site: Site) -> Self:
        return self.filter(Q(home_site=site) | Q(pk__in=RoleHeld.objects.filter(site=site).values("person")))

    def by_name(self) -> Self:
        return self.order_by("family_name", "given_name", "pk")

    def called(self, organisation: Organisation, whole_name: str) -> Self:
        """Who has this name, in capitals or not. A database knows the capitals of some letters only, so it is asked for names
        as long as this one."""
        long = Length(Concat("given_name", Value(" "), "family_name"))
        near = self.filter(organisation=organisation).annotate(long=long).filter(long=len(whole_name))
        rows = near.values_list("pk", "given_name", "family_name")
        same = [key for key, given, family in rows if same_name(f"{given} {family}", whole_name)]
        return self.filter(pk__in=same)


class Person(models.Model):
    """A member of staff. Never deleted: history names them."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="people")
    home_site = models.ForeignKey(Site, models.PROTECT, related_name="home_people")
    given_name = models.CharField(max_length=80)
    family_name = models.CharField(max_length=80)
    staff_number = models.CharField(max_length=30, blank=True)
    email = models.EmailField(blank=True)
    language = models.CharField(
        max_length=20, blank=True, help_text="Language they learn in, where it is not the site’s."
    )
    last_day = models.DateField(null=True, blank=True, help_text="The last day worked, once it is known.")
    working_days = models.CharField(max_length=7, blank=True, help_text="Monday first; empty: as the site.")
    has_namesake = models.BooleanField(
        default=False, editable=False, db_comment="Worked out from the names of all people"
    )

    objects = PersonQuerySet.as_manager()

    class Meta:
        ordering = ["family_name", "given_name", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["organisation", "staff_number"], condition=~Q(staff_number=""), name="person_staff_number_once"
            )
        ]

    def __str__(self) -> str:
        return self.printed_name

    @property
    def whole_name(self) -> str:
        return f"{self.given_name} {self.family_name}"

    @property
    def printed_name(self) -> str:
        """As pages and papers name them: with the staff number where somebody else has the same name."""
        return printed_name(*(getattr(self, name) for name in NAME_COLUMNS))

    def named_then(self, printed: str) -> str:
        """As they were named on a day, told apart from whoever is called so by now."""
        return name_then(printed, *(getattr(self, name) for name in NAME_COLUMNS))

    def is_at_work_on(self, day: date) -> bool:
        return self.last_day is None or day <= self.last_day


def name_columns(who: str) -> tuple[str, ...]:
    """The columns that a name is printed from, for a read of values. `who`: the way to the person."""
    return tuple(f"{who}__{name}" for name in NAME_COLUMNS)


def name_in(row: Mapping[str, Any], who: str) -> str:
    """The printed name from a row of values that has the name columns; empty where nobody stands there."""
    there = [row[name] for name in name_columns(who)]
    return printed_name(*there) if there[1] is not None else ""


def name_then_in(row: Mapping[str, Any], printed: str, who: str) -> str:
    """The name that a column keeps of a day, from a row of values that has the name columns too."""
    return name_then(row[printed], *(row[name] for name in name_columns(who)))


class RoleHeldQuerySet(models.QuerySet):  # type: ignore[type-arg]
    def held_on(self, day: date) -> Self:
        return self.filter(holds_on(day))

    def held_in(self, first: date, last: date) -> Self:
        return self.filter(Q(from_day__lte=last) & (Q(to_day__isnull=True) | Q(to_day__gte=first)))


class RoleHeld(models.Model):
    """A person holds a job role at a site from a day to a day (both good days). Roles add up in one person."""

    person = models.ForeignKey(Person, models.PROTECT, related_name="roles_held")
    site = models.ForeignKey(Site, models.PROTECT, related_name="roles_held")
    job_role = models.ForeignKey(JobRole, models.PROTECT, related_name="held")
    from_day = models.DateField()
    to_day = models.DateField(null=True, blank=True)

    objects = RoleHeldQuerySet.as_manager()

    class Meta:
        ordering = ["from_day", "pk"]
        indexes = [models.Index(fields=["site", "from_day"]), models.Index(fields=["person", "from_day"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(to_day__isnull=True) | Q(to_day__gte=models.F("from_day")),
                name="role_held_ends_after_start",
            )
        ]

    def __str__(self) -> str:
        return f"{self.person}: {self.job_role}"


class Post(models.TextChoices):
    """What the practice has appointed somebody to, beside the job they do."""

    COORDINATOR = "coordinator", "training coordinator"
    OWNER = "owner", "practice owner"
    SAFETY_OFFICER = "safety officer", "group safety officer"
    INSPECTOR = "inspector", "inspector"


class Appointment(models.Model):
    """A post from a day to a day, at one site or (site empty) at every site of the organisation."""

    person = models.ForeignKey(Person, models.PROTECT, related_name="appointments")
    post = models.CharField(max_length=20, choices=Post)
    site = models.ForeignKey(Site, models.PROTECT, null=True, blank=True, related_name="appointments")
    from_day = models.DateField()
    to_day = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["from_day", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(to_day__isnull=True) | Q(to_day__gte=models.F("from_day")),
                name="appointment_ends_after_start",
            )
        ]

    def __str__(self) -> str:
        return f"{self.person}: {self.get_post_display()}"


class Absence(models.Model):
    """Days on which a person is planned not to be at work, both good days. Used only for who can cover."""

    person = models.ForeignKey(Person, models.PROTECT, related_name="absences")
    from_day = models.DateField()
    to_day = models.DateField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(to_day__gte=models.F("from_day")), name="absence_ends_after_start")
        ]


class OutsideWitness(models.Model):
    """Somebody without an account who watched: a visiting trainer, a supervisor of another practice, a kept video."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="witnesses")
    printed_name = models.CharField(max_length=120)
    qualification = models.CharField(max_length=200)
    comes_from = models.CharField(max_length=120)
    identified_how = models.CharField(max_length=200, help_text="How it was checked who they are.")

    def __str__(self) -> str:
        return f"{self.printed_name}, {self.comes_from}"
