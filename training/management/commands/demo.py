"""`manage.py demo`: make the demo practice, once, and serve it."""

from argparse import ArgumentParser
from datetime import date
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import transaction

from clinic import clock
from clinic.commands import ExampleCommand
from clinic.models import Organisation
from clinic.network import refuse_taken_port
from training.demo.accounts import open_accounts, who_signs_in
from training.demo.play import play

EXAMPLE = """example:
  manage.py demo                make the demo practice if there is none, print who can sign in, and serve it
  manage.py demo --port 8080    serve it at another port
  manage.py demo --no-serve --as-of 2026-11-25

exit codes: 0 done · 1 the port is taken, the database holds another practice, or the arguments are wrong"""
NAME = "Larkfield Dental Group"


class Command(ExampleCommand):
    help = "Make the demo practice (an invented group, eighteen months of history) and serve it."
    example = EXAMPLE

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--no-serve", action="store_true", help="only make it")
        parser.add_argument(
            "--as-of", type=date.fromisoformat, help="the day up to which history is played; today if left out"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if not options["no_serve"]:
            refuse_taken_port(options["host"], options["port"])  # before minutes are spent on the practice
        call_command("migrate", verbosity=0)
        organisation = self.existing() or self.made(options["as_of"] or clock.today("Europe/London"))
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
        if not options["no_serve"]:
            call_command("serve", host=options["host"], port=options["port"])

    def existing(self) -> Organisation | None:
        found = Organisation.objects.first()
        if found is not None and found.name != NAME:
            raise CommandError(f"This database holds {found.name}. Set MILLROOM_VAR or DATABASE_URL to an empty place.")
        return found

    def made(self, last: date) -> Organisation:
        self.stdout.write("Making the demo practice: eighteen months, played by the actions people use. A few minutes.")

        def say(words: str) -> None:
            one_line = self.stdout.isatty()
            self.stdout.write(f"\r  {words}          " if one_line else f"  {words}", ending="" if one_line else "\n")
            self.stdout.flush()

        with transaction.atomic():
            return play(settings.DEMO_DIR, settings.LIBRARY_DIR, last, say)
