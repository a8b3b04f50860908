"""What is done about findings: corrective actions, and the check of the seals that says whether the record is whole."""

from collections.abc import Sequence
from datetime import date
from uuid import UUID, uuid4, uuid5

from django.db import transaction

from clinic import clock
from clinic.models import Change, KeptElsewhere, Person, Site
from clinic.permissions import May
from clinic.record import Refusal, only_if_allowed, record, refuse_if
from clinic.rights import here
from clinic.rules.findings import Weight
from clinic.rules.words import begun, counted
from clinic.seals import Break, check_register, check_site
from training.models import CorrectiveAction
from training.reads.findings.records import CHECKED
from training.reads.findings.stored import findings
from training.rules.findings_closed import Weighed
from training.timelines import TIMELINES


@transaction.atomic
def correct(
    keys: Sequence[str], done: str, done_by: Person, *, site: Site, by: Person, id: UUID | None = None
) -> list[CorrectiveAction]:
    """Say what was done about one finding, or about several notes with one reason. All of them, or none."""
    today = clock.today(site.time_zone)
    submission = id or uuid4()
    earlier = CorrectiveAction.objects.filter(pk__in=[uuid5(submission, key) for key in keys])
    if keys and len(earlier) == len(set(keys)):
        return list(earlier)
    here = {one.finding.key: one for one in findings(site, today, keys=keys)}
    chosen = [here[key] for key in dict.fromkeys(keys) if key in here]
    refuse_if(*against(chosen, len(set(keys)) - len(chosen), done))
    return [record(action_about(one, done, done_by, site, today, submission), by=by) for one in chosen]


def against(chosen: Sequence[Weighed], gone: int, done: str) -> list[Refusal | None]:
    several = len(chosen) > 1 and any(one.finding.weight is not Weight.NOTE for one in chosen)
    return [
        Refusal("No finding is chosen.", "Choose at least one.", "findings") if not chosen and not gone else None,
        Refusal(f"{counted(gone, 'finding')} no longer stands there.", "Look at the list again.", "findings")
        if gone
        else None,
        Refusal("What was done is not said.", "Say it in a sentence.", "done") if not done.strip() else None,
        Refusal("Only notes are closed together.", "Say what was done about each other finding on its own.", "findings")
        if several
        else None,
    ]


def action_about(
    one: Weighed, done: str, done_by: Person, site: Site, today: date, submission: UUID
) -> CorrectiveAction:
    return CorrectiveAction(
        id=uuid5(submission, one.finding.key),
        site=site,
        happened_on=today,
        finding=one.finding.key,
        since=one.finding.since,
        said=one.finding.sentence[:300],
        done=done.strip(),
        done_by=done_by,
    )


@transaction.atomic
def check_seals(site: Site, *, by: Person | None, register: Sequence[Break] | None = None) -> list[Break]:
    """Run every part of the check for the site and for the whole register, and record when that was and what was found.

    `register`: what the whole register showed just now, where several sites are checked one after the other."""
    only_if_allowed(None if by is None else here(May.READ_SITE).against(by, None, site))
    found = [*check_site(site), *(check_register() if register is None else register)]
    breaks = [each for each in found if each.part != TIMELINES]
    differing = [each.says for each in found if each.part == TIMELINES]
    facts = Site.objects.get(pk=site.pk).last_position
    said = f"Checked the seals of {counted(facts, 'fact')}: {counted(len(breaks), 'break')}."
    fact = Change(
        site=site,
        happened_on=clock.today(site.time_zone),
        about="clinic.seal",
        about_id=CHECKED,
        said=said,
        after={
            "facts": facts,
            "breaks": len(breaks),
            "differences": len(differing),
            "says": [*(each.says for each in breaks[:20]), *differing[:20]],
        },
    )
    record(fact, by=by)
    return breaks


def keep_elsewhere(
    what: str, place: str, keeper: str, last_review: date | None, *, site: Site, by: Person, id: UUID | None = None,
    corrects: UUID | None = None,
) -> KeptElsewhere:  # fmt: skip
    """Say where a paper is kept that this register only points at. A newer line stands in the place of the one it names."""
    today = clock.today(site.time_zone)
    refuse_if(
        *(
            Refusal(f"{begun(name)} is missing.", "Fill it in.", field)
            for name, field, value in (
                ("the paper", "what", what),
                ("the place", "place", place),
                ("the keeper", "keeper", keeper),
            )
            if not value.strip()
        ),
        Refusal("The last review is in the future.", "Write the day it was reviewed.", "last_review")
        if last_review and last_review > today
        else None,
        sent=id,
    )
    row = KeptElsewhere(
        id=id or uuid4(), site=site, happened_on=today, what=what.strip(), place=place.strip(), keeper=keeper.strip(),
        last_review=last_review, corrects=corrects, reason="Brought up to date." if corrects else "",
    )  # fmt: skip
    return record(row, by=by)
