"""`manage.py backup`: a copy of the register as one file, while people work."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError

from clinic.actions.backup import back_up
from clinic.commands import ExampleCommand
from clinic.keeping.copies import new_key
from clinic.keeping.places import NotKept
from clinic.rules.pruning import STATED
from clinic.rules.words import counted

EXAMPLE = """example:
  manage.py backup                          into the folder of MILLROOM_BACKUP_DIR; “serve” does the same every night
  manage.py backup --to /media/usb          into another folder
  manage.py backup --new-key backup.key     a secret key, once; its public key, printed, goes into MILLROOM_BACKUP_FOR

In the folder stay {stated}.
In no copy are the signing key of checkpoints, the secret of the var folder (codes of apps rest on it) and the secret key of
the copies: keep them somewhere else, once.

exit codes: 0 the copy is made, and recorded · 1 it is not, and the reason is recorded"""


class Command(ExampleCommand):
    help = "Copy the register while people work: the database, the issued papers, and the signed head of each log."
    example = EXAMPLE.format(stated=STATED)

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--to", type=Path, metavar="FOLDER", help="instead of MILLROOM_BACKUP_DIR")
        parser.add_argument("--for", action="append", dest="keys", metavar="AGE1…", help="lock it for this public key")
        parser.add_argument("--new-key", type=Path, metavar="FILE", help="make a secret key, and nothing else")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            if options["new_key"]:
                self.stdout.write(new_key(options["new_key"]))
                return
            folder = options["to"] or settings.BACKUP_DIR
            if folder is None:
                raise NotKept("Where to? Give --to, or set MILLROOM_BACKUP_DIR.")
            made = back_up(folder, options["keys"] or settings.BACKUP_FOR)
        except NotKept as wrong:
            raise CommandError(str(wrong)) from wrong
        except OSError as wrong:
            raise CommandError(f"{wrong.filename}: {wrong.strerror}.") from wrong
        self.stdout.write(f"{made.file}: {counted(made.seals, 'seal')}, {counted(made.size, 'byte')}.")
        for name in made.removed:
            self.stdout.write(f"removed {name}")
