"""`manage.py binder`: a binder to a file, without the browser."""

from argparse import ArgumentParser
from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError

from clinic import clock
from clinic.commands import ExampleCommand
from clinic.models import PaperSize, Site
from clinic.record import Refused
from training.actions.binder import request_binder
from training.binder_worker import run_one
from training.handing_over import handed_over
from training.models import BinderJob
from training.paper_key import NotSigned

EXAMPLE = """example:
  manage.py binder --site high-street --first 2026-01-01 --last 2026-11-25 --out binder.pdf
  manage.py binder --site high-street --first 2026-01-01 --short --paper Letter --out short.pdf

exit codes: 0 written · 1 there is no such site, the days are wrong, or it could not be made"""


class Command(ExampleCommand):
    help = "Make the binder of a site for a period, issue it, and write it to a file."
    example = EXAMPLE

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--site", required=True, metavar="CODE")
        parser.add_argument("--first", type=date.fromisoformat, help="the register start day if left out")
        parser.add_argument("--last", type=date.fromisoformat, help="today if left out")
        parser.add_argument("--as-of", type=date.fromisoformat, help="the day of the matrix; the last day if left out")
        parser.add_argument("--short", action="store_true", help="at most twelve pages")
        parser.add_argument("--paper", choices=PaperSize.values, help="the site’s if left out")
        parser.add_argument(
            "--unsigned", action="store_true", help="without the practice’s signature, where it has a key"
        )
        parser.add_argument("--out", required=True, type=Path, metavar="FILE")

    def handle(self, *args: Any, **options: Any) -> None:
        site = Site.objects.filter(code=options["site"]).first()
        if site is None:
            raise CommandError(f"There is no site “{options['site']}”.")
        job = self.made(site, options)
        if job.issue is None:
            raise CommandError(job.says)
        try:
            options["out"].write_bytes(handed_over(job.issue, unsigned=options["unsigned"]))
        except NotSigned as wrong:
            raise CommandError(f"Binder {job.issue.number} is issued, and not signed. {wrong}") from wrong
        self.stdout.write(f"Binder {job.issue.number} is written to {options['out']}.")

    def made(self, site: Site, options: dict[str, Any]) -> BinderJob:
        """The job when it has ended. Others that wait are made on the way."""
        last = options["last"] or clock.today(site.time_zone)
        days = (options["first"] or site.register_start, last, options["as_of"] or last)
        try:
            job = request_binder(
                site, *days, in_full=not options["short"], paper=options["paper"] or site.paper, by=None
            )
        except Refused as refused:
            raise CommandError(str(refused)) from refused
        while job.state not in (BinderJob.State.DONE, BinderJob.State.FAILED) and run_one():
            job.refresh_from_db()
        return job
