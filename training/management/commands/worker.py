"""`manage.py worker`: make the binders that pages ask for, on as many hosts as wanted."""

import threading
from argparse import ArgumentParser
from typing import Any

from clinic.commands import ExampleCommand
from clinic.start import refuse_wrong_clock
from training.binder_worker import run, run_one

EXAMPLE = """example:
  manage.py worker          make binders until stopped; “serve” has one of its own
  manage.py worker --once   make one, if one waits

exit codes: 0 done, or stopped by the user · 1 the clock is wrong, or the one binder could not be made"""


class Command(ExampleCommand):
    help = "Make the binders that were asked for. A worker that dies in the middle loses nothing but time."
    example = EXAMPLE

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--once", action="store_true", help="make one binder, then stop")

    def handle(self, *args: Any, **options: Any) -> None:
        refuse_wrong_clock()
        if options["once"]:
            job = run_one()
            self.stdout.write(job.says if job else "Nothing waits.")
            if job and job.state == job.State.FAILED:
                raise SystemExit(1)
            return
        try:
            run(threading.Event(), self.stdout.write)
        except KeyboardInterrupt:
            self.stdout.write("Stopped.")
