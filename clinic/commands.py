"""What every command shares: help that shows an example and says what each exit code means."""

from argparse import RawDescriptionHelpFormatter
from typing import Any

from django.core.management.base import BaseCommand


class ExampleCommand(BaseCommand):
    """A command whose `--help` gives `help`, then `example`, then the options."""

    example = ""

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> Any:
        parser = super().create_parser(prog_name, subcommand, formatter_class=RawDescriptionHelpFormatter, **kwargs)
        parser.description = f"{self.help}\n\n{self.example}"
        return parser
