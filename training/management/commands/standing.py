"""`manage.py standing`: who may do what at a site on a day, as JSON."""

import json
from argparse import ArgumentParser, ArgumentTypeError
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.core.management.base import CommandError

from clinic.commands import ExampleCommand
from clinic.models import Site
from clinic.rules.ids import is_id
from training.models import SignOff
from training.reads.matrix import Squares, squares
from training.reads.sheets import paper_words_of

EXAMPLE = """example:
  manage.py standing --site harbour-row --on 2026-03-03
  manage.py standing --site harbour-row --on 2026-03-03 --known-by 2026-04-01T00:00:00+01:00

prints one JSON object: the site, the day, and for each person the procedures with any standing
exit codes: 0 printed · 1 there is no such site · 2 wrong arguments"""


def instant(text: str) -> datetime:
    """An instant with its offset from UTC."""
    found = datetime.fromisoformat(text)
    if found.tzinfo is None:
        raise ArgumentTypeError("give the offset too, such as 2026-04-01T00:00:00+01:00")
    return found


class Command(ExampleCommand):
    help = "Print the standing of everybody at a site on a day as JSON, also as it was known at an earlier instant."
    example = EXAMPLE

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--site", required=True, help="short name of the site")
        parser.add_argument("--on", required=True, type=date.fromisoformat, metavar="DAY")
        parser.add_argument("--known-by", type=instant, metavar="INSTANT", help="with what was recorded by then")

    def handle(self, *args: Any, **options: Any) -> None:
        site = Site.objects.select_related("organisation").filter(code=options["site"]).first()
        if site is None:
            raise CommandError(
                f"There is no site {options['site']}. Sites: {', '.join(Site.objects.values_list('code', flat=True))}."
            )
        found = plain(squares(site, options["on"], options["known_by"]))
        self.stdout.write(json.dumps(found, ensure_ascii=False, indent=2))


def plain(found: Squares) -> dict[str, Any]:
    """Text, numbers and lists only."""
    paper = from_paper(found)
    return {
        "site": found.site.code,
        "on": found.day.isoformat(),
        "known_by": found.known_by.isoformat() if found.known_by else None,
        "people": [person_plain(found, person, paper) for person in found.people],
    }


def from_paper(found: Squares) -> dict[str, list[str]]:
    """By the id of a sign-off, each piece of its evidence that was entered from a sheet of paper, in words."""
    causes = [square.span.cause for square in found.squares.values()]
    rests = {
        str(row.pk): row.evidence
        for row in SignOff.objects.filter(pk__in=[each for each in causes if each and is_id(each)])
    }
    said = paper_words_of(pk for ids in rests.values() for pk in ids)
    return {pk: [said[UUID(each)] for each in ids if UUID(each) in said] for pk, ids in rests.items()}


def person_plain(found: Squares, person: Any, paper: dict[str, list[str]]) -> dict[str, Any]:
    """Procedures without a row here are untrained."""
    there = [procedure for procedure in found.procedures if (person.pk, procedure.pk) in found.squares]
    return {
        "id": str(person.pk),
        "name": person.printed_name,
        "staff_number": person.staff_number,
        "job_roles": found.roles.get(person.pk, ""),
        "asked": [procedure.code for procedure in found.procedures if found.asks(person, procedure)],
        "standing": {procedure.code: square_plain(found, person, procedure, paper) for procedure in there},
    }


def square_plain(found: Squares, person: Any, procedure: Any, paper: dict[str, list[str]]) -> dict[str, Any]:
    here = found.at(person, procedure)
    span = here.span
    return {
        "state": here.state.value,
        "may_work_alone": here.state.is_usable,
        "says": found.says(person, procedure),
        "basis": span.basis.value if span.basis else None,
        "since": span.first.isoformat(),
        "ends_on": span.ends_on.isoformat() if span.ends_on else None,
        "cause": span.cause,
        "from_paper": paper.get(span.cause or "", []),
    }
