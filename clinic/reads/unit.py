"""Everything the page of one unit shows."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from clinic.models import Equipment, FollowUp, JobEnded, OutOfService, ReturnToService, Site
from clinic.reads.due_list import UnitCare, cares_of, head_of
from clinic.reads.follow_ups import follow_ups
from clinic.reads.jobs import crashes_of
from clinic.reads.site_answers import answers_at, answers_in_words
from clinic.rules.due_wording import CountedHead
from clinic.rules.upkeep_facts import UpkeepState
from clinic.rules.words import after_colon, day_words


@dataclass(frozen=True, slots=True)
class StopSaid:
    """A stop or a return, in words."""

    day: date
    says: str
    who: str
    reason: str


@dataclass(frozen=True, slots=True)
class UnitPage:
    care: UnitCare
    head: CountedHead
    worst: str
    answers: Sequence[tuple[str, str]]
    stops: Sequence[StopSaid]
    follow_ups: Sequence[FollowUp]
    crashes: Sequence[JobEnded] = ()

    @property
    def facts(self) -> list[tuple[str, Any]]:
        unit = self.care.unit
        days = f"since {day_words(unit.in_service_from)}" + (
            f", through {day_words(unit.in_service_to)}" if unit.in_service_to else ""
        )
        rows = [("Kind", unit.get_kind_display()), ("Serial number", unit.serial), ("In service", days)]
        return rows + ([("Part of", str(unit.part_of))] if unit.part_of else [])


def unit_page(site: Site, unit: Equipment, today: date) -> UnitPage:
    outs = [row for row in follow_ups(site) if row.entry.equipment_id == unit.pk]
    care = cares_of(site, [unit], today, [row for row in outs if row.closed_on is None])[0]
    answers = sorted(answers_in_words(answers_at(site, unit)).items())
    return UnitPage(care, head_of_unit(care), worst_of(care), answers, stops_said(unit), outs[::-1], crashes_of(unit))


def head_of_unit(care: UnitCare) -> CountedHead:
    if care.stopped:
        return CountedHead(f"out of service since {day_words(care.stopped.day)}.", ())
    if care.follow_ups:
        return CountedHead(
            f"out of limits since {day_words(care.follow_ups[0].happened_on)}, until a good reading.", ()
        )
    if not care.rows:
        return CountedHead("no upkeep task is set for this kind.", ())
    head = head_of([care])
    return CountedHead(after_colon(head.says), head.names)


def worst_of(care: UnitCare) -> str:
    if care.stopped:
        return UpkeepState.OUT_OF_SERVICE.value
    if care.follow_ups:
        return UpkeepState.OVERDUE.value
    states = [row.state for row in care.rows]
    return next((s.value for s in (UpkeepState.OVERDUE, UpkeepState.DUE) if s in states), "in time")


def stops_said(unit: Equipment) -> list[StopSaid]:
    """Stops and returns, newest first."""
    stops = OutOfService.objects.live().filter(equipment=unit).select_related("recorded_by")
    returns = ReturnToService.objects.live().filter(equipment=unit).select_related("recorded_by")
    said = [(row.recorded_at, stop_words(row, "taken out of service", row.reason)) for row in stops]
    said += [(row.recorded_at, stop_words(row, "returned to service", row.check_done)) for row in returns]
    return [words for _, words in sorted(said, key=lambda pair: pair[0], reverse=True)]


def stop_words(row: OutOfService | ReturnToService, says: str, reason: str) -> StopSaid:
    return StopSaid(row.happened_on, says, str(row.recorded_by or "somebody"), reason)
