"""`manage.py demo`: make the demo practice, once, and serve it."""

from argparse import ArgumentParser
from datetime import date
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import transaction

from clinic import background, clock
from clinic.commands import ExampleCommand
from clinic.models import Organisation
from clinic.network import refuse_taken_port
from training.demo.accounts import open_accounts, who_signs_in
from training.demo.closing import let_inspector_read
from training.demo.play import keep_anew, make

EXAMPLE = """example:
  manage.py demo                make the demo practice if there is none, print who can sign in, and serve it
  manage.py demo --port 8080    serve it at another port
  manage.py demo --no-serve --as-of 2026-11-25
  manage.py demo --keep         after a change of the scenario, the library or a table: play it anew, and keep that

exit codes: 0 done · 1 the port is taken, the database holds another practice, or the arguments are wrong"""
NAME = "Larkfield Dental Group"
PAUSE = 2.0  # seconds between two looks whether the binder for the inspector is made
WIDTH = 60  # of the line on which a terminal shows how far it is


class Command(ExampleCommand):
    help = "Make the demo practice (an invented group, eighteen months of history) and serve it."
    example = EXAMPLE

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument(
            "--keep", action="store_true", help="play it from the first day, and keep that in fixtures/demo for others"
        )
        parser.add_argument("--no-serve", action="store_true", help="only make it")
        parser.add_argument(
            "--as-of", type=date.fromisoformat, help="the day up to which history is played; today if left out"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        served = not (options["no_serve"] or options["keep"])
        if served:
            refuse_taken_port(options["host"], options["port"])  # before time is spent on the practice
        call_command("migrate", verbosity=0)
        if options["keep"]:
            self.keep()
            return
        organisation = self.existing() or self.made(options["as_of"] or clock.today("Europe/London"), served)
        word = open_accounts(organisation)
        self.stdout.write(
            f"\nThe demo practice is {organisation.name}. Everybody signs in with this passphrase, made just now:\n\n    {word}\n"
        )
        for name, who in who_signs_in(organisation):
            self.stdout.write(f"    {name:<28} {who}")
        self.stdout.write(
            "\nOwners, coordinators and the safety officer are asked on every page to add a second factor; here the fourteen"
            "\ndays for it begin anew at each start. In a practice of your own they end."
        )
        if served:
            background.every(PAUSE, let_inspector_read, "pass of the inspector")
            call_command("serve", host=options["host"], port=options["port"])

    def existing(self) -> Organisation | None:
        found = Organisation.objects.first()
        if found is not None and found.name != NAME:
            raise CommandError(f"This database holds {found.name}. Set MILLROOM_VAR or DATABASE_URL to an empty place.")
        return found

    def made(self, last: date, served: bool) -> Organisation:
        self.stdout.write("Making the demo practice: eighteen months of an invented group, up to today.")
        with transaction.atomic():
            return make(settings.DEMO_DIR, settings.LIBRARY_DIR, last, self.say, served=served)

    def keep(self) -> None:
        """All is played in the empty tables, written to the file, and taken back."""
        if self.existing():
            raise CommandError("This database holds the demo practice already. Set MILLROOM_VAR to an empty place.")
        self.stdout.write("Playing the demo practice by the actions people use. A minute or two.")
        with transaction.atomic():
            file = keep_anew(settings.DEMO_DIR, settings.LIBRARY_DIR, self.say)
            transaction.set_rollback(True)
        self.stdout.write(f"\nKept in {file} ({file.stat().st_size:,} bytes).")

    def say(self, words: str) -> None:
        """On one line of a terminal; a line for each step elsewhere."""
        one_line = self.stdout.isatty()
        self.stdout.write(f"\r  {words:<{WIDTH}}" if one_line else f"  {words}", ending="" if one_line else "\n")
        self.stdout.flush()
