"""`manage.py new_site`: start a practice with its first site and owner, or add a site to one."""

from argparse import ArgumentParser
from datetime import date
from typing import Any
from zoneinfo import available_timezones

from django.core.exceptions import ValidationError
from django.core.management.base import CommandError
from django.urls import reverse

from clinic import clock
from clinic.actions.sites import open_site, start_practice
from clinic.commands import ExampleCommand
from clinic.models import Organisation, Paper, Person, Site
from clinic.record import Refused

EXAMPLE = """example:
  manage.py new_site --organisation "Larkfield Dental" --name "High Street" --code high-street \\
      --time-zone Europe/London --owner "Marit Oldenburg"
  manage.py new_site --organisation "Larkfield Dental" --name "Ferry Lane" --code ferry-lane

The first site needs an owner, who gets an invitation to choose a password and does everything else on the pages
(People, Going live). Then: manage.py load_library, and manage.py serve.

exit codes: 0 made · 1 refused, with every reason"""


class Command(ExampleCommand):
    help = "Start a practice with its first site and its owner, or add a site to a practice that is here."
    example = EXAMPLE

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--organisation", required=True, metavar="NAME")
        parser.add_argument("--name", required=True, help="of the site")
        parser.add_argument("--code", required=True, help="short name of the site in addresses")
        parser.add_argument(
            "--time-zone", default="Europe/London", choices=sorted(available_timezones()), metavar="ZONE"
        )
        parser.add_argument("--paper", default=Paper.A4, choices=Paper.values)
        parser.add_argument("--register-start", type=date.fromisoformat, metavar="DAY", help="today if left out")
        parser.add_argument("--owner", metavar="NAME", help="given and family name; for the first site")

    def handle(self, *args: Any, **options: Any) -> None:
        today = clock.today(options["time_zone"])
        site = Site(
            name=options["name"], code=options["code"], time_zone=options["time_zone"], paper=options["paper"],
            register_start=options["register_start"] or today,
        )  # fmt: skip
        organisation = Organisation.objects.filter(name=options["organisation"]).first()
        try:
            if organisation:
                self.add(site, organisation)
            else:
                self.start(site, options, today)
        except (Refused, ValidationError) as refused:
            raise CommandError(str(refused)) from refused

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
