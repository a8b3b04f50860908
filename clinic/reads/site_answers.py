"""What the walk round found: answers to site facts, for the site and for one unit."""

from typing import Any

from clinic.models import Equipment, Site, SiteFactValue
from clinic.reads.water_limits import FACT
from clinic.rules.readings import FactValue
from clinic.rules.site_text import first_number

Answers = dict[tuple[str, Any], str]  # by the fact's name and the key of the unit; None: the site's own


def answers_of(site: Site) -> Answers:
    """Every answer of the site; one query."""
    rows = SiteFactValue.objects.live().filter(site=site).in_order().select_related("site_fact")
    return {(row.site_fact.name, row.equipment_id): "not used here" if row.not_used else row.value for row in rows}


def answers_for(site: Site, unit: Equipment | None = None) -> dict[str, str]:
    """By the fact's name: the unit's own answer before that of the unit it is part of, before the site's; one query."""
    return answers_among(answers_of(site), unit)


def answers_among(found: Answers, unit: Equipment | None) -> dict[str, str]:
    """The same of answers that were read already."""
    here: list[Any] = [None, unit.part_of_id if unit else None, unit.pk if unit else None]
    return {name: words for level in here for (name, of), words in found.items() if of == level}


def numbers_in(answers: dict[str, str]) -> dict[str, FactValue]:
    """The first number of each answer that names one, for totals. The limit of water has a place of its own
    (`clinic.reads.water_limits`): a year or a page is no limit."""
    numbers = {name: first_number(words) for name, words in answers.items() if name != FACT}
    return {name: number for name, number in numbers.items() if number is not None}
