"""`manage.py spans`: rebuild the stored timelines from the facts, or prove them the same."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError

from clinic.commands import ExampleCommand
from clinic.models import Organisation, Person, Site
from clinic.rules.words import counted
from training import finding_spans
from training.models import FindingSpan, SpansWaiting, StandingSpan
from training.spans import differences, rebuild

EXAMPLE = """example:
  manage.py spans check       compare every stored timeline with what the facts say
  manage.py spans rebuild     write those anew that differ, then compare

exit codes: 0 the same · 1 something differs (each difference is printed) · 2 wrong arguments"""


class Command(ExampleCommand):
    help = "Prove that the stored timelines of standing and findings are what the facts say, or rebuild them."
    example = EXAMPLE

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("what", choices=["check", "rebuild"])

    def handle(self, *args: Any, **options: Any) -> None:
        if options["what"] == "rebuild":
            waiting = list(SpansWaiting.objects.values_list("pk", flat=True))
            rebuild(Person.objects.select_related("organisation").order_by("pk"))
            SpansWaiting.objects.filter(pk__in=waiting).delete()
            for site in Site.objects.order_by("pk"):
                finding_spans.rebuild(site)
        found = [says for organisation in Organisation.objects.all() for says in differences(organisation)]
        found += [says for site in Site.objects.all() for says in finding_spans.differences(site)]
        for says in found:
            self.stdout.write(says)
        if found:
            raise CommandError(
                f"{counted(len(found), 'timeline differs', 'timelines differ')} from the facts. Run: manage.py spans rebuild"
            )
        self.stdout.write(
            f"{StandingSpan.stored.count()} spans of {counted(Person.objects.count(), 'person', 'people')} and {FindingSpan.objects.count()} of"
            " findings are what the facts say."
        )
