"""What the walk round found: answers to site facts, for the site and for one unit. Every page and paper asks here."""

from dataclasses import replace
from typing import NamedTuple
from uuid import UUID

from clinic.models import Equipment, Site, SiteFactValue
from clinic.prepared import Prepared
from clinic.reads.water_limits import FACT
from clinic.rules.readings import FactValue
from clinic.rules.site_text import NOT_USED, Answer, Answers, first_number, told_apart


def answers_at(site: Site, equipment: Equipment | None) -> dict[str, Answer]:
    """Site facts by name as they stand for a unit: its own, then those of what belongs to it and what it belongs to, then
    the site's, then those of a kind of which the site has only one, then of each unit by its label. Two queries."""
    found = stored_answers(site)
    if not found:
        return {}
    family = {key for row in [equipment] if row for key in (row.pk, row.part_of_id) if key} | {
        pk for (pk,) in (PARTS.rows(unit=[equipment.pk]) if equipment else ())
    }
    return {name: answer_among(rows, equipment, family) for name, rows in found.items()}


class Stored(NamedTuple):
    """An answer in force and whose it is: of a unit, or of the site where there is none."""

    unit: UUID | None
    label: str
    answer: Answer


def stored_answers(site: Site) -> dict[str, list[Stored]]:
    """By the name of the site fact. Plain columns: every observation and every page with steps asks for them."""
    rows = SAID.rows(site=[site.pk])
    latest = {(name, unit): Stored(unit, label, Answer(*said)) for name, unit, label, *said in rows}
    by_name: dict[str, list[Stored]] = {}
    for (name, _), row in latest.items():
        by_name.setdefault(name, []).append(row)
    return by_name


PARTS = Prepared(lambda unit: Equipment.objects.filter(part_of__in=unit).values_list("pk"))
SAID = Prepared(
    lambda site: (
        SiteFactValue.objects.live()
        .filter(site__in=site)
        .order_by("happened_on", "recorded_at", "pk")
        .values_list("site_fact__name", "equipment", "equipment__label", "value", "not_used")
    )
)


def answer_among(rows: list[Stored], equipment: Equipment | None, family: set[UUID]) -> Answer:
    found = nearest(rows, equipment, family)
    if found:
        return found.answer
    units = sorted((row for row in rows if row.unit), key=lambda row: row.label)
    return replace(told_apart([(row.label, row.answer) for row in units]), of_others=True)


def nearest(rows: list[Stored], equipment: Equipment | None, family: set[UUID]) -> Stored | None:
    own = [row for row in rows if equipment and row.unit == equipment.pk]
    near = [row for row in rows if row.unit in family]
    everywhere = [row for row in rows if row.unit is None]
    found = own or near or everywhere or (rows if len(rows) == 1 else [])
    return found[0] if found else None


def answers_in_words(answers: Answers) -> dict[str, str]:
    """For a list of facts: the answer, or that it is not used here."""
    return {name: NOT_USED if one.not_used else one.value for name, one in answers.items()}


def numbers_in(answers: Answers) -> dict[str, FactValue]:
    """The first number of each answer that names one, for totals; never that of another unit. The limit of water has a place
    of its own (`clinic.reads.water_limits`): a year or a page is no limit."""
    here = {name: one.value for name, one in answers.items() if name != FACT and not one.of_others}
    numbers = {name: first_number(words) for name, words in here.items()}
    return {name: number for name, number in numbers.items() if number is not None}
