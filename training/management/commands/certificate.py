"""`manage.py certificate`: a certificate to a file, printed again or issued first."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from django.core.management.base import CommandError

from clinic.commands import ExampleCommand
from clinic.record import Refused
from training.actions.issue import issue_certificate
from training.handing_over import handed_over
from training.models import Issue, SignOff
from training.paper_key import NotSigned
from training.papers import Differs
from training.reads.certificate import not_in_force

EXAMPLE = """example:
  manage.py certificate --number harbour-row-2026-0017 --out certificate.pdf
  manage.py certificate --person "Wren Adeyemi" --procedure P06 --out certificate.pdf
  manage.py certificate --person S20 --procedure P06 --address https://register.example --out certificate.pdf

exit codes: 0 written · 1 no such certificate or sign-off, refused, or the arguments are wrong"""


NO_ADDRESS = "It names no address of its check page, because none was given: whoever holds it asks the practice by its number and code."


class Command(ExampleCommand):
    help = "Write a certificate to a file: one that was issued, by its number, or the one of a person’s sign-off, issued if it was not."
    example = EXAMPLE

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--number", default="", help="number of a certificate that was issued")
        parser.add_argument("--person", default="", help="staff number, sign-in name or printed name")
        parser.add_argument("--procedure", default="", help="code of the procedure")
        parser.add_argument(
            "--address", default="", help="where others reach the register, for a certificate that is issued now"
        )
        parser.add_argument(
            "--unsigned", action="store_true", help="without the practice’s signature, where it has a key"
        )
        parser.add_argument("--out", required=True, help="where the PDF goes")

    def handle(self, *args: Any, **options: Any) -> None:
        if bool(options["number"]) == bool(options["person"] and options["procedure"]):
            raise CommandError("Give either --number, or --person and --procedure.")
        address = origin_of(options["address"])
        row = (
            by_number(options["number"]) if options["number"] else of(options["person"], options["procedure"], address)
        )
        Path(options["out"]).write_bytes(issued(row, unsigned=options["unsigned"]))
        self.stdout.write(f"{row.number}: {options['out']}")
        if not row.frozen["check_url"]:
            self.stdout.write(NO_ADDRESS)


def by_number(number: str) -> Issue:
    row = Issue.objects.filter(document=Issue.Kind.CERTIFICATE, number=number).first()
    if row is None:
        raise CommandError(f"No certificate has the number {number}. Its number stands at the top of the paper.")
    return row


def origin_of(address: str) -> str:
    """Scheme and host; CommandError where it is not that."""
    parts = urlsplit(address)
    if address and (parts.scheme not in ("http", "https") or not parts.netloc or parts.path.strip("/") or parts.query):
        raise CommandError(f"--address {address} is not an address such as https://register.example.")
    return address.rstrip("/")


def of(person: str, procedure: str, origin: str) -> Issue:
    """The certificate of the person's last sign-off in the procedure, issued now if it was not."""
    rows = SignOff.objects.live().filter(version__procedure__code=procedure).select_related("person__account")
    found = [row for row in rows.order_by("recorded_at") if person.casefold() in names_of(row)]
    if not found:
        raise CommandError(
            f"{person} has no sign-off in {procedure}. Write the name as it is printed, and the code such as P06."
        )
    try:
        return issue_certificate(found[-1], by=None, origin=origin)
    except Refused as refused:
        raise CommandError(" ".join(f"{each.says} {each.supply}" for each in refused.refusals)) from refused


def issued(row: Issue, *, unsigned: bool) -> bytes:
    try:
        return handed_over(row, not_in_force(row), unsigned=unsigned)
    except (Differs, NotSigned) as wrong:
        raise CommandError(str(wrong)) from wrong


def names_of(row: SignOff) -> set[str]:
    account = getattr(row.person, "account", None)
    names = {row.person.printed_name, row.person.staff_number, account.sign_in_name if account else ""}
    return {name.casefold() for name in names if name}
