"""`manage.py load_library`: check the procedure library, and bring it into a practice as drafts."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError

from clinic.commands import ExampleCommand
from clinic.models import Organisation, Person
from clinic.record import Refused
from clinic.rules.words import counted
from training.actions.library import load_library
from training.actions.versions import submit_drafted
from training.rules.library import Library, LibraryFaults, read_library

EXAMPLE = """example:
  manage.py load_library --check
  manage.py load_library --by L100
  manage.py load_library --organisation "Millbrook Dental" --by L100 --folder fixtures/library

exit codes: 0 done, or nothing wrong · 1 faults in the library, no such practice or person · 2 wrong arguments"""


class Command(ExampleCommand):
    help = "Check every file of the procedure library, and print how many steps each procedure has to tap; without --check, draft and submit each procedure whose text is new. Nothing is put in force."
    example = EXAMPLE

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--check", action="store_true", help="only check; needs no database")
        parser.add_argument("--folder", type=Path, default=settings.LIBRARY_DIR, help="where the files are")
        parser.add_argument("--organisation", help="name of the practice; may be left out where there is only one")
        parser.add_argument("--by", help="staff number of whoever drafts; needed unless --check")

    def handle(self, *args: Any, **options: Any) -> None:
        library = self.checked(options["folder"])
        if options["check"]:
            return
        organisation = practice(options["organisation"])
        by = drafter(organisation, options["by"])
        done = load_library(library, organisation, by=by)
        self.stdout.write(f"Drafted: {', '.join(done.drafted) or 'nothing, every text is there already'}.")
        self.stdout.write(
            f"Left as they were: {len(done.unchanged)}. Upkeep tasks: {done.tasks}. Site facts: {done.site_facts}."
        )
        try:
            submit_drafted(done.drafted, organisation, by=by)
        except Refused as refused:
            raise CommandError(f"Drafted, and not submitted: {refused}") from refused
        self.stdout.write(
            "Nothing is in force yet. The owner signs in, reads the drafts and approves them: Procedures, Approve the set."
        )

    def checked(self, folder: Path) -> Library:
        """Every fault is printed as file:line, before anything is touched."""
        try:
            library = read_library(folder)
        except LibraryFaults as found:
            for fault in found.faults:
                self.stderr.write(f"{fault.file}:{fault.line}: {fault.says}")
            raise CommandError(f"{counted(len(found.faults), 'fault')}. Nothing was loaded.") from found
        self.stdout.write(
            f"{counted(len(library.procedures), 'procedure')} and topics, {len(library.site_facts)} site facts: no fault."
        )
        for text in library.procedures:
            if steps := text.content.steps:
                critical = sum(step.critical for step in steps)
                self.stdout.write(f"  {text.code} {len(steps)} to tap, {critical} of them critical")
        return library


def practice(name: str | None) -> Organisation:
    rows = Organisation.objects.filter(name=name) if name else Organisation.objects.all()
    found = list(rows[:2])
    if len(found) != 1:
        known = ", ".join(Organisation.objects.values_list("name", flat=True)) or "none yet"
        raise CommandError(f"Name one practice with --organisation. Known: {known}.")
    return found[0]


def drafter(organisation: Organisation, staff_number: str | None) -> Person:
    found = (
        Person.objects.filter(organisation=organisation, staff_number=staff_number).first() if staff_number else None
    )
    if found is None:
        raise CommandError("Say who drafts with --by and a staff number of this practice.")
    return found
