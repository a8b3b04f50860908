"""`manage.py recover_account`: a code for somebody who cannot get in, where nobody else can confirm it."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError
from django.db import transaction
from django.urls import reverse

from clinic.accounts import INVITATION_LASTS
from clinic.actions.people import open_account
from clinic.actions.recovery import CODE_LASTS, Way, ask_recovery, confirm_recovery, waiting
from clinic.commands import ExampleCommand
from clinic.models import Account
from clinic.record import Refused

EXAMPLE = """example:
  manage.py recover_account marit.oldenburg --how "She sits here; I have known her for ten years."
  manage.py recover_account marit.oldenburg --how "…" --second-factor-lost

For a practice of one or two, and for the owner whose first invitation is over. It asks nobody: whoever may run it could
change the database too. It leaves the same sealed facts as the pages do, and the account's owner is told the same way.

exit codes: 0 a code is printed · 1 refused, with every reason"""


class Command(ExampleCommand):
    help = "Print a single-use code by which somebody chooses a new password, at the register's own computer."
    example = EXAMPLE

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("sign_in_name", help="of whoever cannot get in")
        parser.add_argument("--how", required=True, metavar="WORDS", help="how it was checked who asks")
        parser.add_argument("--second-factor-lost", action="store_true", help="the phone or passkey is gone too")

    def handle(self, *args: Any, **options: Any) -> None:
        account = Account.objects.filter(sign_in_name__iexact=options["sign_in_name"]).first()
        if account is None:
            raise CommandError(f"Nobody signs in as {options['sign_in_name']}. Look at Roster, Accounts.")
        try:
            code, good_for = self.recover(account, options)
        except Refused as refused:
            raise CommandError(str(refused)) from refused
        address = reverse("clinic:invitation", kwargs={"code": code})
        self.stdout.write(f"{account.person} chooses a password at\n    {address}\n(good for {good_for}, once).")

    @transaction.atomic
    def recover(self, account: Account, options: dict[str, Any]) -> tuple[str, str]:
        """What waits for a second person is confirmed here; an account that nobody chose a password for is invited anew."""
        person = account.person
        if not account.has_usable_password():
            return open_account(person, by=None, identity_checked="")[1], f"{INVITATION_LASTS.days} days"
        lost = options["second_factor_lost"]
        asked = next((each for each in waiting(person) if each.factor_lost == lost), None)
        asked = asked or ask_recovery(person, by=None, how=options["how"], factor_lost=lost)
        words = f"at the register's own computer: {options['how']}"[:80]
        code = confirm_recovery(asked, by=None, way=Way.MACHINE, proved=words, address="")
        return code, f"{CODE_LASTS.total_seconds() / 3600:.0f} hours"
