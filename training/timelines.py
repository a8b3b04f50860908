"""The stored timelines as a part of the check of the seals: what the facts say, and nothing else."""

from collections.abc import Iterable

from clinic.models import Organisation, Site
from clinic.seals import Break
from training import finding_spans
from training.spans import differences

TIMELINES = "timelines"


def stored_timelines() -> Iterable[Break]:
    for organisation in Organisation.objects.all():
        for says in differences(organisation):
            yield Break(0, "training.standingspan", "", says, TIMELINES)
    for site in Site.objects.all():
        for says in finding_spans.differences(site):
            yield Break(0, "training.findingspan", "", says, TIMELINES)
