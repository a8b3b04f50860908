"""`manage.py seals check`: is the record what was sealed?"""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError

from clinic.commands import ExampleCommand
from clinic.models import Site
from clinic.seals import Break, check_site
from training.actions.findings import check_seals

EXAMPLE = """example:
  manage.py seals check
  manage.py seals check --site harbour-row
  manage.py seals check --record      every night, from a timer: the day and what was found stand in Audit

exit codes: 0 every seal holds · 1 something broke (each break is printed), or wrong arguments"""


class Command(ExampleCommand):
    help = "Check the hash chain of every site against the facts as they stand, and say exactly what broke."
    example = EXAMPLE

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("what", choices=["check"])
        parser.add_argument("--site", help="only this site, by its short name")
        parser.add_argument("--record", action="store_true", help="keep that it was checked, and what was found")

    def handle(self, *args: Any, **options: Any) -> None:
        sites = Site.objects.filter(code=options["site"]) if options["site"] else Site.objects.all()
        if options["site"] and not sites:
            raise CommandError(f"There is no site {options['site']}.")
        broken = sum(self.told(site, self.breaks(site, record=options["record"])) for site in sites)
        if broken:
            raise CommandError(f"{broken} breaks. Keep the database as it is, and compare it with the newest backup.")

    def breaks(self, site: Site, *, record: bool) -> list[Break]:
        return check_seals(site, by=None) if record else check_site(site)

    def told(self, site: Site, breaks: list[Break]) -> int:
        """Prints the breaks of the site; returns how many."""
        for each in breaks:
            self.stdout.write(f"{site.code}, seal {each.position}, {each.kind} {each.fact}: {each.says}")
        if not breaks:
            site.refresh_from_db()
            self.stdout.write(
                f"{site.code}: {site.last_position} seals hold, the last is {site.last_digest[:16] or 'none yet'}."
            )
        return len(breaks)
