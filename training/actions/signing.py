"""Signing off and withdrawing. Only with authority and ready evidence; otherwise every missing piece is named."""

from dataclasses import dataclass
from datetime import date
from uuid import UUID, uuid4

from django.db import transaction

from clinic import clock
from clinic.models import Equipment, Person, Site, UpkeepEntry
from clinic.record import Refusal, Refused, record, refuse_if
from training import gather
from training.actions.proof import Proved, sign_beside
from training.models import InstructionsCheck, Observation, Procedure, SignOff, Version, Withdrawal
from training.permissions import has_authority
from training.rules import signing
from training.rules.elements import Element, elements
from training.rules.evidence import EvidenceDetail
from training.rules.facts import CheckTaken, Mark, Observed
from training.rules.order import with_prerequisites
from training.rules.standing import Standing, evidence_on, timelines, valid_until_if_signed

MEANING = "Responsibility: I state that this person may do this procedure here without supervision."


WITHDRAWN = "Responsibility: I state that this person may not do this procedure here without supervision from now on."


@dataclass(frozen=True, slots=True)
class Ground:
    """What a sign-off on a day would rest on, and every reason against it. The page and the action read the same."""

    version: Version | None
    standing: Standing
    detail: EvidenceDetail
    valid_until: date | None
    refusals: tuple[signing.Refusal, ...]
    six: tuple[Element, ...]

    @property
    def lowered(self) -> list[str]:
        pieces = self.detail.pieces
        return [f"{p.kind}: {p.needed} instead of {p.asked}, {p.lowered_because}" for p in pieces if p.lowered_because]


def ground(person: Person, procedure: Procedure, signer: Person, site: Site, day: date) -> Ground:
    """Read the facts of both people once and ask the rules."""
    whole = gather.programme(procedure.organisation)
    program = with_prerequisites(whole, procedure.code)
    found = gather.people_facts(
        procedure.organisation,
        [person, signer],
        codes=program.keys(),
        evidence_of=[person],
        evidence_in=[procedure.code],
    )
    standing, signers = (
        timelines(program, found[str(who.pk)], only={procedure.code})[procedure.code] for who in (person, signer)
    )
    detail = evidence_on(standing, day)
    version = Version.objects.live().filter(procedure=procedure, number=detail.version or 0).first()
    refusals = signing.may_sign(
        person=str(person.pk),
        signer=str(signer.pk),
        has_authority=has_authority(signer, procedure, site, day),
        signer_standing=signers.on(day),
        detail=detail,
        checked=version is not None and InstructionsCheck.objects.live().filter(version=version).exists(),
        names=Procedure.objects.titles(procedure.organisation),
    )
    six = elements_of(standing, detail, version.asks.upkeep_covered if version else ())
    return Ground(version, standing, detail, valid_until_if_signed(standing, day), refusals, six)


def elements_of(standing: Standing, detail: EvidenceDetail, covered: tuple[str, ...]) -> tuple[Element, ...]:
    used = [fact for fact in standing.course.facts if fact.id in set(detail.rests_on)]
    met = [fact for fact in used if isinstance(fact, Observed)]
    rows = Observation.objects.filter(pk__in=[fact.id for fact in met]).values_list("marks", flat=True)
    return elements(
        met,
        covers_upkeep=bool(covered),
        entries_checked=UpkeepEntry.objects.live().filter(from_observation__in=[fact.id for fact in met]).count(),
        asked_steps=sum(1 for marks in rows for mark in marks if mark["mark"] == Mark.ASKED),
        check_passed=any(isinstance(fact, CheckTaken) for fact in used),
    )


@transaction.atomic
def sign_off(
    person: Person, procedure: Procedure, signer: Person, *, site: Site, proved: Proved, statement: str,
    equipment: Equipment | None = None, id: UUID | None = None, meaning: str = MEANING,
) -> SignOff:  # fmt: skip
    """The signed statement that the person may work unsupervised. Signing the same page twice signs once."""
    earlier = SignOff.objects.filter(pk=id).first() if id else None
    if earlier:
        return earlier
    day = clock.today(site.time_zone)
    rests = ground(person, procedure, signer, site, day)
    if rests.refusals or rests.version is None:
        raise Refused(*(Refusal(each.says, each.supply) for each in rests.refusals))
    return record(
        SignOff(
            id=id or uuid4(),
            site=site,
            happened_on=day,
            happened_at=clock.time_of_day(site.time_zone),
            person=person,
            version=rests.version,
            signer=signer,
            signer_name=signer.printed_name,
            meaning=meaning,
            statement=statement.strip(),
            evidence=list(rests.detail.rests_on),
            elements={str(each.number): each.how for each in rests.six},
            lowered=rests.lowered,
            valid_until=rests.valid_until,
            reidentified=proved.how,
            reidentified_at=proved.at,
            equipment=equipment,
        ),
        by=signer,
    )


@transaction.atomic
def withdraw(
    person: Person, procedure: Procedure, reason: str, *, site: Site, by: Person, proved: Proved, id: UUID | None = None
) -> Withdrawal:
    """From now on the person may not work alone in it. The reason is about the work; no incident is ever named. A second
    sending finds the first, whose time it does not have."""
    rows = Withdrawal.objects.filter(person=person, procedure=procedure, site=site, reason=reason.strip())
    earlier = rows.filter(pk=id, recorded_by=by).first() if id else None
    if earlier:
        return earlier
    today = clock.today(site.time_zone)
    refuse_if(
        Refusal("Say why.", "Name what was seen, in a sentence.", "reason") if not reason.strip() else None,
        Refusal(
            "Only somebody with authority withdraws.",
            "Ask a supervisor with authority for this procedure, or the owner.",
        )
        if not has_authority(by, procedure, site, today)
        else None,
    )
    row = record(
        Withdrawal(
            id=id or uuid4(), site=site, happened_on=today, happened_at=clock.time_of_day(site.time_zone), person=person,
            procedure=procedure, signer_name=by.printed_name, reason=reason.strip(),
        ),
        by=by,
    )  # fmt: skip
    sign_beside(row, WITHDRAWN, by=by, proved=proved)
    return row
