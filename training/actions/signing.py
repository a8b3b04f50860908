"""Signing off and withdrawing. Only with authority and ready evidence; otherwise every missing piece is named."""

from uuid import UUID, uuid4

from django.db import transaction

from clinic import clock
from clinic.models import Equipment, Person, Site
from clinic.record import Refusal, Refused, holding, record, refuse_if, sealed_as
from training.actions.proof import Proved, sign_beside
from training.models import Procedure, SignOff, Withdrawal
from training.permissions import has_authority
from training.reads.ground import ground

MEANING = "Responsibility: I state that this person may do this procedure here without supervision."


WITHDRAWN = "Responsibility: I state that this person may not do this procedure here without supervision from now on."


@transaction.atomic
def sign_off(
    person: Person, procedure: Procedure, signer: Person, *, site: Site, proved: Proved, statement: str,
    equipment: Equipment | None = None, id: UUID | None = None, meaning: str = MEANING,
) -> SignOff:  # fmt: skip
    """The signed statement that the person may work unsupervised. Signing the same page twice signs once."""
    with holding(site):
        earlier = SignOff.objects.filter(pk=id).first() if id and sealed_as(id) else None
        return earlier or signed_now(person, procedure, signer, site, proved, statement, equipment, id, meaning)


def signed_now(
    person: Person, procedure: Procedure, signer: Person, site: Site, proved: Proved, statement: str,
    equipment: Equipment | None, id: UUID | None, meaning: str,
) -> SignOff:  # fmt: skip
    """On the ground as it is now, while nobody records beside it; or every reason against it."""
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
