"""`manage.py purge`: what need not be kept any longer, shown; and taken away by its number."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError

from clinic import clock
from clinic.actions import purging
from clinic.commands import ExampleCommand
from clinic.models import Site
from clinic.reads.purging import holds, offered
from clinic.record import Refused
from clinic.rules.purging import TABLE
from clinic.rules.words import counted, day_words

EXAMPLE = """example:
  manage.py purge --site harbour-row                       every line of the retention table, and what is over; nothing goes
  manage.py purge injuries --site harbour-row --count 2    these two go; a sealed note stays, and the log still holds
  manage.py purge --site harbour-row --hold "claim of 3 March"
  manage.py purge --site harbour-row --lift "the claim was settled"

Copies made before still hold what was purged, until they are pruned.
The periods are a US federal baseline. Your state, a contract or a lawyer may ask more: give --years, or do not purge.

exit codes: 0 shown, or done · 1 refused, with every reason"""


class Command(ExampleCommand):
    help = "Show what the retention table no longer asks to keep, and take it away where that is asked."
    example = EXAMPLE

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("what", nargs="?", choices=[line.what for line in TABLE])
        parser.add_argument("--site", required=True)
        parser.add_argument("--count", type=int, default=0, help="how many were shown")
        parser.add_argument("--years", type=int, default=0, help="a longer period, where one is asked; the longer wins")
        parser.add_argument("--hold", metavar="WHAT FOR", help="from now on nothing of the site is purged")
        parser.add_argument("--lift", metavar="REASON", help="no hold of the site stands any longer")

    def handle(self, *args: Any, **options: Any) -> None:
        site = Site.objects.filter(code=options["site"]).first()
        if site is None:
            raise CommandError(f"There is no site {options['site']}.")
        try:
            self.do(site, options)
        except (Refused, ValueError) as refused:
            raise CommandError(in_full(refused)) from refused

    def do(self, site: Site, options: dict[str, Any]) -> None:
        if options["hold"] is not None:
            self.stdout.write(f"Held: {purging.hold(options['hold'], site=site, by=None).said}")
        elif options["lift"] is not None:
            for held in holds(site):
                purging.lift(held, options["lift"], by=None)
                self.stdout.write(f"Lifted: {held.said}")
        elif options["what"]:
            note = purging.purge(options["what"], options["count"], site=site, by=None, years=options["years"])
            self.stdout.write(
                f"Purged: {counted(len(note.contents), 'record')}, kept through {day_words(note.kept_through)} at most."
            )
        else:
            self.show(site, options["years"])

    def show(self, site: Site, years: int) -> None:
        for held in holds(site):
            self.stdout.write(f"LEGAL HOLD since {day_words(held.happened_on)}: {held.said}. Nothing is purged.")
        for each in offered(site, clock.today(site.time_zone), years):
            verb = "is" if len(each.over) == 1 else "are"
            says = each.line.why_not or f"{len(each.over)} of {each.all} {verb} over"
            self.stdout.write(f"{each.line.what}: {each.line.says}, kept {each.line.rule}. {says}")
            for fact in each.over:
                self.stdout.write(f"    {purging.shown(fact)}")


def in_full(refused: Exception) -> str:
    if not isinstance(refused, Refused):
        return str(refused)
    return " ".join(f"{each.says} {each.supply}".strip() for each in refused.refusals)
