"""`manage.py import_roster`: enter everybody of a file, or nobody."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError

from clinic.actions.roster import enter_roster
from clinic.commands import ExampleCommand
from clinic.csv_rows import NotCsv
from clinic.models import Person, Site
from clinic.permissions import Allowed, May
from clinic.record import Refused
from clinic.roster import Roster, entered_words, read_roster
from clinic.workbooks import text_of as text_in

EXAMPLE = """example:
  manage.py import_roster staff.csv --site harbour-row --by S001 --dry-run
  manage.py import_roster staff.csv --site harbour-row --by S001

the first line of the file names the columns:
  given_name,family_name,staff_number,email,job_role,from_day,to_day,language
days as 2026-11-25, 25 Nov 2026 or, in the order of the site's country, 25/11/2026; UTF-8; at most 1000 lines
a job role that is not there yet is made where a line says so: new: Driver

exit codes: 0 entered, or nothing wrong with --dry-run · 1 faults in the file (each is printed, nothing is entered), or wrong arguments"""


class Command(ExampleCommand):
    help = "Enter the people and job roles of a CSV file or workbook at a site: all of it, or nothing with every fault named."
    example = EXAMPLE

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--site", required=True, help="short name of the site, as in its addresses")
        parser.add_argument(
            "--by", required=True, metavar="STAFF_NUMBER", help="who enters it: somebody who may change this roster"
        )
        parser.add_argument("--dry-run", action="store_true", help="only say what would be entered")

    def handle(self, *args: Any, **options: Any) -> None:
        site = Site.objects.filter(code=options["site"]).first()
        if site is None:
            raise CommandError(
                f"There is no site {options['site']}. Sites: {', '.join(Site.objects.values_list('code', flat=True))}."
            )
        by = whoever(options["by"], site)
        found = read_roster(text_of(options["file"]), site)
        if found.faults:
            raise CommandError("\n".join([f"{options['file']}: nothing is entered.", *map(str, found.faults)]))
        if not options["dry_run"]:
            enter(found, site, by)
        self.stdout.write(said(found, options["dry_run"]))


def whoever(number: str, site: Site) -> Person:
    person = Person.objects.filter(organisation=site.organisation_id, staff_number=number).first()
    if person is None or not Allowed(person).may(May.ROSTER, site):
        raise CommandError(
            f"{number} is nobody who may change the roster of {site}. Name a coordinator or owner by staff number."
        )
    return person


def text_of(file: Path) -> str:
    try:
        return text_in(file.read_bytes())
    except OSError as wrong:
        raise CommandError(f"{file} cannot be read: {wrong.strerror}.") from None
    except NotCsv as wrong:
        raise CommandError(f"{file}: {wrong}") from None


def enter(found: Roster, site: Site, by: Person) -> None:
    try:
        enter_roster(found, site, by=by)
    except Refused as refused:
        raise CommandError(f"Nothing is entered. {refused}") from None


def said(found: Roster, dry_run: bool) -> str:
    verb = "Would enter" if dry_run else "Entered"
    titles = f" New job roles: {', '.join(found.new_titles)}." if found.new_titles else ""
    return f"{verb} {entered_words(found.people, found.roles, found.known)}.{titles}"
