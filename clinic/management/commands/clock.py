"""`manage.py clock`: what the clock did, and saying openly that it is right now."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError
from django.db.models import Max

from clinic import clock
from clinic.actions.clock import put_right
from clinic.commands import ExampleCommand
from clinic.models import Site
from clinic.reads.clock import jumps
from clinic.record import Refused
from clinic.rules.jumps import refusal, utc_words
from clinic.rules.words import counted

EXAMPLE = """example:
  manage.py clock                    the clock, the newest record, and every jump that was not answered
  manage.py clock right --said "The battery was flat on 28 November; the clock said 2036 from ten to eleven."

Afterwards take back, on its own page, each record whose day is wrong.

exit codes: 0 nothing is open, or it was put right · 1 the clock is wrong or a jump is open; no such site; nothing said"""


class Command(ExampleCommand):
    help = "Show jumps of the clock, or record that the clock is right now and what the wrong instants were."
    example = EXAMPLE

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("what", nargs="?", choices=["show", "right"], default="show")
        parser.add_argument("--site", help="only this site, by its short name")
        parser.add_argument("--said", default="", help="what happened, in a sentence that stays in the record")

    def handle(self, *args: Any, **options: Any) -> None:
        sites = list(Site.objects.filter(code=options["site"]) if options["site"] else Site.objects.all())
        if options["site"] and not sites:
            raise CommandError(f"There is no site {options['site']}.")
        if options["what"] == "right":
            self.right(sites, options["said"])
        else:
            self.show(sites)

    def right(self, sites: list[Site], said: str) -> None:
        for site in sites:
            try:
                answers = put_right(site, said, by=None)
            except Refused as refused:
                raise CommandError(str(refused)) from refused
            self.stdout.write(
                f"{site.code}: recorded that the clock is right; {counted(len(answers), 'jump')} answered."
            )

    def show(self, sites: list[Site]) -> None:
        newest = Site.objects.aggregate(at=Max("last_recorded_at"))["at"]
        self.stdout.write(f"The clock says {utc_words(clock.now())}.")
        found = [(site, jump) for site in sites for jump in jumps(site)]
        for site, jump in found:
            self.stdout.write(f"{site.code}: {jump.said}")
        wrong = refusal(newest, clock.now())
        if wrong or found:
            raise CommandError(wrong or f"{counted(len(found), 'jump is', 'jumps are')} not answered.")
