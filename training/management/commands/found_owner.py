"""`manage.py found_owner`: the founding grant of a lone owner, whom nobody else can found."""

from argparse import ArgumentParser
from datetime import date, timedelta
from typing import Any

from django.core.management.base import CommandError

from clinic import clock
from clinic.commands import ExampleCommand
from clinic.models import Account, Site
from clinic.record import Refused
from clinic.rules.words import short_day
from training.actions.grants import found_at_machine
from training.models import FoundingGrant, Procedure, Version

EXAMPLE = """example:
  manage.py found_owner ann.example --site high-street --rests-on course \\
      --detail "The maker's two-day course, 3 and 4 March 2026; certificate in the blue folder."
  manage.py found_owner ann.example --site high-street --rests-on visit --detail "…" --procedures P01 P06

Somebody has to be first to sign, and nobody founds themselves on a page. Where a second person may make founding grants at
the site, this refuses and names them. It is nobody's signature: every document that names the grant says that it was entered
at the register's own computer, and why.

exit codes: 0 made · 1 refused, with every reason · 2 wrong arguments"""
ELEVEN_MONTHS = timedelta(days=330)


class Command(ExampleCommand):
    help = "Make the founding grant of a lone owner, at the register's own computer, with what it rests on."
    example = EXAMPLE

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("sign_in_name", help="of whoever signs first")
        parser.add_argument("--site", required=True, help="short name of the site")
        parser.add_argument("--rests-on", required=True, choices=FoundingGrant.RestsOn.values)
        parser.add_argument(
            "--detail", required=True, metavar="WORDS", help="which visit or course, by whom, on which day"
        )
        parser.add_argument("--procedures", nargs="+", metavar="CODE", help="all of the practice in force, if left out")
        parser.add_argument("--from", dest="first", type=date.fromisoformat, metavar="DAY", help="today if left out")
        parser.add_argument("--through", type=date.fromisoformat, metavar="DAY", help="eleven months on if left out")

    def handle(self, *args: Any, **options: Any) -> None:
        account = Account.objects.called(options["sign_in_name"]).select_related("person").first()
        site = Site.objects.select_related("organisation").filter(code=options["site"]).first()
        if account is None or site is None:
            missing = (
                f"Nobody signs in as {options['sign_in_name']}."
                if account is None
                else f"There is no site {options['site']}."
            )
            raise CommandError(missing)
        first = options["first"] or clock.today(site.time_zone)
        codes = options["procedures"] or in_force(site, first)
        try:
            row = found_at_machine(
                account.person, site, first, options["through"] or first + ELEVEN_MONTHS, procedures=codes,
                rests_on=options["rests_on"], detail=options["detail"],
            )  # fmt: skip
        except Refused as refused:
            raise CommandError(" ".join(f"{each.says} {each.supply}" for each in refused.refusals)) from refused
        self.stdout.write(
            f"{row.person} may work alone and sign through {short_day(row.to_day)}: {', '.join(row.procedures)}."
        )


def in_force(site: Site, day: date) -> list[str]:
    """Every procedure of the practice that has a version in force on the day."""
    here = Procedure.objects.of(site.organisation).filter(kind=Procedure.Kind.PRACTICE)
    versions = Version.objects.live().in_force(day).filter(procedure__in=here)
    return sorted(versions.values_list("procedure__code", flat=True).distinct())
