"""`manage.py restore`: the register back from a copy, proved before it is used; or a drill of that."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError

from clinic.actions.backup import try_restoring
from clinic.commands import ExampleCommand
from clinic.keeping.places import NotKept
from clinic.keeping.restoring import RestoreProof, restore
from clinic.rules.words import counted

EXAMPLE = """example:
  MILLROOM_VAR=/srv/register manage.py restore larkfield-20261125T020000Z.tar.gz     into an empty place
  manage.py restore larkfield-20261125T020000Z.tar.gz.age --identity backup.key
  manage.py restore COPY --against 5278:1f0c…    also against a head from paper, or a file with a checkpoint
  manage.py restore COPY --drill                 on trial, beside the register that goes on; the record keeps that it was done

It is proved by every check there is, and by every head that is known: in the folders of checkpoints, beside later copies, and
given. A copy that is older than one of them is refused, with how many facts are missing.

exit codes: 0 restored and proved · 1 not; the place is as empty as before"""


class Command(ExampleCommand):
    help = "Restore a copy of the register into an empty place and prove it against the newest head that is known."
    example = EXAMPLE

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("copy", type=Path)
        parser.add_argument("--identity", type=Path, metavar="FILE", help="the secret key that opens a locked copy")
        parser.add_argument("--against", action="append", default=[], metavar="CHECKPOINT", help="a file, or SIZE:HEAD")
        parser.add_argument("--key", action="append", default=[], help="public key of checkpoints, where it is known")
        parser.add_argument("--drill", action="store_true", help="on trial: nothing is kept but that it was done")
        parser.add_argument(
            "--accept-missing", type=int, default=0, metavar="N", help="so many facts are lost, and that is said openly"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        how = {"identity": options["identity"], "typed": options["against"], "keys": options["key"]}
        try:
            if options["drill"]:
                self.told(try_restoring(options["copy"], **how, say=self.stdout.write))
            else:
                accepted = options["accept_missing"]
                self.told(restore(options["copy"], **how, accepted=accepted, say=self.stdout.write))
        except NotKept as wrong:
            raise CommandError(str(wrong)) from wrong
        except OSError as wrong:
            raise CommandError(f"{wrong.filename}: {wrong.strerror}.") from wrong

    def told(self, proved: RestoreProof) -> None:
        self.stdout.write(
            f"{counted(proved.seals, 'seal holds', 'seals hold')}, and {counted(proved.heads, 'head')} that {'is' if proved.heads == 1 else 'are'} known."
        )
        for site, count in proved.missing.items():
            self.stdout.write(f"{site}: {counted(count, 'fact was', 'facts were')} recorded after this copy.")
