"""`manage.py seals`: is the record what was sealed, does it begin with a log that somebody held, and how is that proved?"""

import json
from argparse import ArgumentParser
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError

from clinic import checkpoints
from clinic.actions.checkpoints import give_out
from clinic.commands import ExampleCommand
from clinic.models import Site
from clinic.rules.words import counted
from clinic.seals import Break, check_register, check_site
from clinic.verify import Fails, LogHead, held_head, is_checkpoint_of, read_key
from training.actions.findings import check_seals
from training.proofs import Unproved, broken_issue, issue_of, proof, refuse_longer

EXAMPLE = """example:
  manage.py seals check
  manage.py seals check --site harbour-row
  manage.py seals check --record      every night, from a timer: the day and what was found stand in Audit
  manage.py seals check --site harbour-row --against checkpoint.txt     a checkpoint that was kept, or SIZE:HEAD from paper
  manage.py seals check --certificate certificate.pdf    the file was issued, and its fact stands in today's log
  manage.py seals checkpoint --out usb-stick             signed heads of the logs, to be kept anywhere
  manage.py seals send                                   the same to every place and to the owners by mail, now
  manage.py seals key                                    the public keys of the logs
  manage.py seals prove --certificate certificate.pdf --against checkpoint.txt --out proof.json
  python clinic/verify.py proof.json --file certificate.pdf --held checkpoint.txt --key KEY     anywhere, without the database

exit codes: 0 everything holds · 1 something does not (each break is printed), or wrong arguments"""

VERBS = ("check", "checkpoint", "key", "prove", "send")


class Command(ExampleCommand):
    help = "Check every seal against the facts as they stand, hold the logs against heads kept elsewhere, and prove it."
    example = EXAMPLE

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("what", choices=VERBS)
        parser.add_argument("--site", help="only this site, by its short name")
        parser.add_argument("--record", action="store_true", help="keep that it was checked, and what was found")
        parser.add_argument("--against", action="append", default=[], metavar="CHECKPOINT", help="a file, or SIZE:HEAD")
        parser.add_argument("--certificate", type=Path, metavar="FILE", help="a certificate or binder as it was issued")
        parser.add_argument(
            "--key", default="", help="another public key for the checkpoints held, such as a former one"
        )
        parser.add_argument("--out", type=Path, help="folder of checkpoints, or file of the proof")

    def handle(self, *args: Any, **options: Any) -> None:
        sites = Site.objects.select_related("organisation").order_by("pk")
        chosen = list(sites.filter(code=options["site"]) if options["site"] else sites)
        if options["site"] and not chosen:
            raise CommandError(f"There is no site {options['site']}.")
        try:
            getattr(self, f"do_{options['what']}")(chosen, options)
        except (Fails, Unproved) as wrong:
            raise CommandError(str(wrong)) from wrong
        except OSError as wrong:
            raise CommandError(f"{wrong.filename}: {wrong.strerror}.") from wrong

    def do_check(self, sites: Sequence[Site], options: dict[str, Any]) -> None:
        held = [self.held(words, options["key"]) for words in options["against"]]
        register = check_register()
        broken = sum(self.told(site, self.breaks(site, register, options["record"])) for site in sites)
        if not options["record"]:
            broken += self.print_breaks("register", register)
        broken += sum(self.told_held(sites, words, head) for words, head in zip(options["against"], held, strict=True))
        broken += self.told_file(options["certificate"]) if options["certificate"] else 0
        if broken:
            raise CommandError(
                f"{counted(broken, 'break')}. Keep the database as it is, and compare it with the newest backup."
            )

    def held(self, words: str, key: str) -> LogHead:
        """The head that was held; a file must bear the signature of this register's key, or of the key given."""
        head = held_head(words, None)
        return held_head(words, read_key(key or checkpoints.public_key(head.origin))) if head.origin else head

    def breaks(self, site: Site, register: list[Break], record: bool) -> list[Break]:
        return check_seals(site, by=None, register=register) if record else check_site(site)

    def told(self, site: Site, breaks: list[Break]) -> int:
        """Prints the breaks of the site; returns how many."""
        if not breaks:
            site.refresh_from_db()
            self.stdout.write(
                f"{site.code}: {counted(site.last_position, 'seal holds', 'seals hold')}, the last is {site.last_digest[:16] or 'none yet'}."
            )
        return self.print_breaks(site.code, breaks)

    def print_breaks(self, where: str, breaks: Iterable[Break]) -> int:
        found = list(breaks)
        for each in found:
            self.stdout.write(f"{where}, seal {each.position}, {each.kind} {each.fact}: {each.says}")
        return len(found)

    def told_held(self, sites: Sequence[Site], words: str, head: LogHead) -> int:
        """Says of which site's log that head is the beginning. One of no origin may be any of the sites chosen."""
        about = [site for site in sites if is_checkpoint_of(head, site.code)]
        says = {site.code: checkpoints.extends(checkpoints.leaves(site), head) for site in about}
        for code, wrong in says.items():
            if not wrong:
                self.stdout.write(
                    f"{code}: today's log begins with the {counted(head.size, 'seal')} of the checkpoint that was held, unchanged and in order."
                )
                return 0
        for code, wrong in says.items() or [("register", "no site has that log")]:
            self.stdout.write(f"{code}, held {words}: {wrong}")
        return 1

    def told_file(self, file: Path) -> int:
        issue = issue_of(file)
        refuse_longer(file, issue)
        broken = self.print_breaks(issue.site.code, broken_issue(issue))
        if not broken:
            proof(issue.site, [], issue)
            self.stdout.write(f"{file}: byte for byte as {issue.number} was issued; its fact stands in today's log.")
        return broken

    def do_checkpoint(self, sites: Sequence[Site], options: dict[str, Any]) -> None:
        for site in sites:
            note = checkpoints.checkpoint(site)
            self.stdout.write(f"{checkpoints.write(site, note, options['out'])}" if options["out"] else note)

    def do_send(self, sites: Sequence[Site], options: dict[str, Any]) -> None:
        for site in sites:
            given = give_out(site, by=None)
            self.stdout.write(f"{site.code}: {given.said}")
            for failed in given.after["failed"]:
                self.stdout.write(f"{site.code}: not sent to {failed}")

    def do_key(self, sites: Sequence[Site], options: dict[str, Any]) -> None:
        for site in sites:
            self.stdout.write(checkpoints.public_key(checkpoints.origin_of(site)))

    def do_prove(self, sites: Sequence[Site], options: dict[str, Any]) -> None:
        issue = issue_of(options["certificate"]) if options["certificate"] else None
        held = [self.held(words, options["key"]) for words in options["against"]]
        about = issue.site if issue else self.site_of(sites, held)
        text = json.dumps(proof(about, held, issue), indent=1, ensure_ascii=False)
        if options["out"]:
            options["out"].write_text(text, encoding="utf-8")
        self.stdout.write(f"{options['out']}: proof about {about}." if options["out"] else text)

    def site_of(self, sites: Sequence[Site], held: Sequence[LogHead]) -> Site:
        about = [site for site in sites if all(is_checkpoint_of(head, site.code) for head in held)]
        if len(about) != 1:
            raise CommandError("Of which site? Give --site, or --certificate.")
        return about[0]
