"""Which binder is asked for, and the facts that it turns out to rest on."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cached_property
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import QuerySet, prefetch_related_objects

from clinic.models import Equipment, FollowUp, Person, Site, UpkeepEntry
from clinic.models.upkeep import results_read
from clinic.read_once import ReadOnce
from clinic.reads.drivers import DriverNow, VerificationSaid, drivers_now, verifications_of
from clinic.reads.follow_ups import follow_ups
from clinic.reads.jobs import JobSaid, jobs_of, said
from clinic.reads.upkeep import UnitTask, everything, unit_tasks
from clinic.rules.days import written_later
from clinic.rules.words import day_words, short_day
from training.reads.binder.places import answers_by_kind
from training.rules.place import Answers

By = dict[Any, list[Any]]


@dataclass
class BinderAsked:
    """Which binder: a site, the days [first, last], the day its matrix shows, its form and paper; and what several of its parts
    ask for, read once."""

    site: Site
    first: date
    last: date
    as_of: date
    in_full: bool = True
    paper: str = "A4"
    facts: set[str] = field(default_factory=set)  # filled while gathering
    judged: dict[UUID, Sequence[VerificationSaid]] = field(default_factory=dict, repr=False)

    @cached_property
    def at_hand(self) -> ReadOnce:
        """Whom and what the rows of its parts name."""
        return ReadOnce(self.site)

    def entries(self, rows: QuerySet[UpkeepEntry]) -> list[UpkeepEntry]:
        """With whom and what they name, and what was read of them later."""
        found = self.at_hand.rows(rows.select_related(None), "task", "equipment", "done_by", "stood_by", "site")
        prefetch_related_objects(found, results_read())
        return found

    @cached_property
    def tasks(self) -> list[UnitTask]:
        """Every upkeep task of the site with its whole timeline."""
        return unit_tasks(self.site, everything(self.site))

    @cached_property
    def jobs(self) -> list[JobSaid]:
        """Every job that was started in the period, in order."""
        rows = jobs_of(self.site).filter(happened_on__range=(self.first, self.last)).select_related(None).in_order()
        return said(self.site, self.at_hand.rows(rows, "equipment", "lot", "done_by", "stood_by", "site"))

    @cached_property
    def drivers(self) -> list[DriverNow]:
        """Every torque driver in service on the day of the matrix."""
        return drivers_now(self.site, self.as_of)

    def verifications(self, driver: Equipment) -> Sequence[VerificationSaid]:
        """Newest first."""
        if driver.pk not in self.judged:
            self.judged[driver.pk] = verifications_of(driver)
        return self.judged[driver.pk]

    @cached_property
    def follow_ups(self) -> list[FollowUp]:
        """Every one of the site, open or closed."""
        return follow_ups(self.site)

    @cached_property
    def answers(self) -> Mapping[str, Answers]:
        """What the site says of itself, by kind of equipment."""
        return answers_by_kind(self.site)

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.site.time_zone)

    def local(self, instant: datetime) -> str:
        """Site time to the minute."""
        return instant.astimezone(self.zone).strftime("%Y-%m-%dT%H:%M")

    def written(self, row: Any) -> str:
        """The day it was written, where that is later than the day it was done; empty otherwise."""
        return iso(written_later(row.happened_on, row.recorded_at.astimezone(self.zone).date()))

    def done_on(self, row: Any) -> str:
        """The day it was done, as a cell of a table; where it was written later: 2 Dec 2026, written on 5 Dec 2026."""
        return self.done_words(row) if self.written(row) else iso(row.happened_on)

    def done_words(self, row: Any) -> str:
        """2 Dec 2026; where it was written later: 2 Dec 2026, written on 5 Dec 2026."""
        later = written_later(row.happened_on, row.recorded_at.astimezone(self.zone).date())
        return f"{short_day(row.happened_on)}{f', written on {short_day(later)}' if later else ''}"

    def written_words(self, row: Any) -> str:
        """Written on 2 December 2026. Empty where it was written on the day it was done."""
        later = written_later(row.happened_on, row.recorded_at.astimezone(self.zone).date())
        return f"Written on {day_words(later)}." if later else ""


def in_period(asked: BinderAsked, rows: Any, people: Sequence[Person]) -> Any:
    """Facts about these people that stand, of the period, in order."""
    return rows.live().filter(person__in=people, happened_on__range=(asked.first, asked.last)).in_order()


def iso(day: date | None) -> str:
    """2026-12-02, or empty."""
    return day.isoformat() if day else ""
