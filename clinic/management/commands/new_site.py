"""`manage.py new_site`: start a practice with its first site and owner, or add a site to one."""

import sys
from argparse import ArgumentParser
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import CommandError
from django.urls import reverse

from clinic import clock
from clinic.actions.sites import open_site, start_practice
from clinic.commands import ExampleCommand
from clinic.models import Organisation, Person, Site
from clinic.record import Refused
from clinic.site_ways import ASKED, guessed, right_or_why, ways_in_words

EXAMPLE = """example:
  manage.py new_site --organisation "Larkfield Dental" --name "High Street" --code high-street \\
      --owner "Marit Oldenburg" --time-zone Europe/London --paper A4 --language en-GB
  manage.py new_site --organisation "Larkfield Dental" --name "Ferry Lane" --code ferry-lane

The first site needs an owner, who gets an invitation to choose a password and does everything else on the pages
(People, Going live). Time zone, paper and language are asked where they are left out, with what this computer says as
the answer to take. Then: manage.py load_library, and manage.py serve.

exit codes: 0 made · 1 refused, with every reason"""


class Command(ExampleCommand):
    help = "Start a practice with its first site and its owner, or add a site to a practice that is here."
    example = EXAMPLE

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--organisation", required=True, metavar="NAME")
        parser.add_argument("--name", required=True, help="of the site")
        parser.add_argument("--code", required=True, help="short name of the site in addresses")
        for name, asks in ASKED.items():
            parser.add_argument(f"--{name.replace('_', '-')}", help=f"{asks}; asked or guessed if left out")
        parser.add_argument("--register-start", type=date.fromisoformat, metavar="DAY", help="today if left out")
        parser.add_argument("--owner", metavar="NAME", help="given and family name; for the first site")

    def handle(self, *args: Any, **options: Any) -> None:
        ways = {name: self.way(name, options[name]) for name in ASKED}
        today = clock.today(ways["time_zone"])
        start = options["register_start"] or today
        site = Site(name=options["name"], code=options["code"], register_start=start, **ways)
        organisation = Organisation.objects.filter(name=options["organisation"]).first()
        try:
            if organisation:
                self.add(site, organisation)
            else:
                self.start(site, options, today)
        except (Refused, ValidationError) as refused:
            raise CommandError(str(refused)) from refused
        self.stdout.write(f"{ways_in_words(site)} Change it on the pages: People, Roster, Going live.")

    def way(self, name: str, said: str | None) -> str:
        """What was said, or what is answered at the keyboard; where nobody sits at one, the guess, which is printed."""
        guess = guessed(name)
        asks = said is None and sys.stdin.isatty()
        while True:
            word = (input(f"{ASKED[name]} [{guess}]: ").strip() if asks else said) or guess
            why = right_or_why(name, word)
            if not why:
                return word
            if not asks:
                raise CommandError(f"--{name.replace('_', '-')}: {why}")
            self.stderr.write(why)

    def add(self, site: Site, organisation: Organisation) -> None:
        site.organisation = organisation
        open_site(site, by=None)
        self.stdout.write(f"{site.name} is open at /{site.code}/.")

    def start(self, site: Site, options: dict[str, Any], today: date) -> None:
        given, _, family = (options["owner"] or "").strip().rpartition(" ")
        if not given:
            raise CommandError("The first site of a practice needs --owner with a given and a family name.")
        owner = Person(given_name=given, family_name=family)
        account, code = start_practice(
            Organisation(name=options["organisation"]), site, owner, min(today, site.register_start)
        )
        self.stdout.write(
            f"{site.name} is open at /{site.code}/. {owner} signs in as {account.sign_in_name}, after choosing a password at\n"
            f"    {reverse('clinic:invitation', kwargs={'code': code})}\n(good for seven days, once)."
        )
