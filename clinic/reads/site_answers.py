"""What the walk round found: answers to site facts, for the site and for one unit. Every page and paper asks here."""

from dataclasses import replace
from uuid import UUID

from clinic.models import Equipment, Site, SiteFact, SiteFactValue
from clinic.reads.water_limits import FACT
from clinic.rules.readings import FactValue
from clinic.rules.site_text import NOT_USED, Answer, Answers, first_number, told_apart


def answers_at(site: Site, equipment: Equipment | None) -> dict[str, Answer]:
    """Site facts by name as they stand for a unit: its own, then those of what belongs to it and what it belongs to, then
    the site's, then those of a kind of which the site has only one, then of each unit by its label. Three queries."""
    values = SiteFactValue.objects.latest_by_fact(site)
    if not values:
        return {}
    family = {key for row in [equipment] if row for key in (row.pk, row.part_of_id) if key} | set(
        Equipment.objects.filter(part_of=equipment).values_list("pk", flat=True) if equipment else ()
    )
    names = dict(SiteFact.objects.values_list("pk", "name"))
    by_name: dict[str, list[SiteFactValue]] = {}
    for (fact, _), row in values.items():
        by_name.setdefault(names[fact], []).append(row)
    return {name: answer_among(rows, equipment, family) for name, rows in by_name.items()}


def answer_among(rows: list[SiteFactValue], equipment: Equipment | None, family: set[UUID]) -> Answer:
    found = nearest(rows, equipment, family)
    if found:
        return Answer(found.value, found.not_used)
    units = sorted((row for row in rows if row.equipment), key=lambda row: str(row.equipment))
    return replace(told_apart([(str(row.equipment), Answer(row.value, row.not_used)) for row in units]), of_others=True)


def nearest(rows: list[SiteFactValue], equipment: Equipment | None, family: set[UUID]) -> SiteFactValue | None:
    own = [row for row in rows if equipment and row.equipment_id == equipment.pk]
    near = [row for row in rows if row.equipment_id in family]
    everywhere = [row for row in rows if row.equipment_id is None]
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
