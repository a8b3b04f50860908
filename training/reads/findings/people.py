"""Training, signatures and signers of a site as plain data for the findings: every stretch, by what it is about.

Each gather takes the keys that it is asked for (None: all), and an instant by which the facts were known (None: by now).
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q

from clinic.models import Person, RoleHeld, Site
from clinic.prepared import Instances, Prepared
from clinic.reads.findings import Keys, Told
from clinic.rules.findings import Days
from training import gather
from training.models import (
    CarriedOver,
    CriticalMissAnswer,
    FoundingGrant,
    Observation,
    Procedure,
    Requirement,
    SignOff,
    Withdrawal,
)
from training.reads.standing import usable_of
from training.rules.findings import (
    Ask,
    CriticalMiss,
    Duty,
    EverRequired,
    JudgedSignature,
    holds,
    too_few_signers,
    training_overdue,
    unanswered_misses,
    wrong_signatures,
)
from training.rules.order import days_after
from training.rules.rings import Anchor, SignerLink, rings, round_of
from training.rules.stretches import both

DAY = timedelta(days=1)
Key = tuple[UUID, str]  # person, procedure code
Usable = Mapping[Key, Sequence[Days]]
# Plain columns: with the years sign-offs are many, and next to none of them is wrong.
COLUMNS = ("pk", "happened_on", "person", "signer", "signer_name", "version__procedure")


def usable_days(
    site: Site, known_by: datetime | None, people: Collection[UUID], codes: Collection[str] | None = None
) -> Usable:
    """The usable stretches of these people (in these procedures), by person and procedure."""
    found: dict[Key, list[Days]] = defaultdict(list)
    for one in usable_of(site.organisation, people, known_by, codes):
        found[one.person, one.code].append((one.first, one.after))
    return {key: sorted(days) for key, days in found.items()}


PEOPLE = Instances(Person, lambda keys: Person.objects.filter(pk__in=keys))
EVERYBODY = Instances(Person, lambda organisation: Person.objects.filter(organisation__in=organisation))
PROCEDURES = Instances(
    Procedure, lambda organisation: Procedure.objects.filter(organisation__in=organisation).order_by("code")
)
NAMED = Instances(Procedure, lambda keys: Procedure.objects.filter(pk__in=keys))
ROLES = Instances(
    RoleHeld,
    lambda site, people: RoleHeld.objects.filter(site__in=site, **({} if people is None else {"person__in": people})),
)
ASKED = Instances(
    Requirement, lambda site: Requirement.objects.filter(Q(site__in=site) | Q(site__isnull=True)).order_by("pk")
)


def names_of(site: Site, keys: Collection[Any] | None = None) -> dict[UUID, str]:
    people = EVERYBODY.all(organisation=[site.organisation_id]) if keys is None else PEOPLE.all(keys=keys)
    return {person.pk: str(person) for person in people}


def of_training(site: Site, keys: Keys = None, known_by: datetime | None = None) -> list[Told]:
    """What job roles here ask and somebody does not hold in time, by person."""
    held = ROLES.all(site=[site.pk], people=None if keys is None else [UUID(key) for key in keys])
    asks = asks_of(site, held)
    usable = usable_days(site, known_by, {who.pk for who, _ in asks})
    required = [
        EverRequired(str(who), str(who.pk), str(what), what.code, rows, usable.get((who.pk, what.code), ()))
        for (who, what), rows in asks.items()
    ]
    return [(one.person_id, each) for one in required for each in training_overdue([one])]


def asks_of(site: Site, held: Collection[RoleHeld]) -> dict[tuple[Person, Procedure], list[Ask]]:
    """Every stretch of days on which a role held here asks for a procedure."""
    roles: dict[int, list[Requirement]] = defaultdict(list)
    for row in ASKED.all(site=[site.pk]):
        roles[row.job_role_id].append(row)
    procedures = {row.pk: row for row in PROCEDURES.all(organisation=[site.organisation_id])}
    people = {row.pk: row for row in PEOPLE.all(keys={role.person_id for role in held})}
    found: dict[tuple[Person, Procedure], list[Ask]] = defaultdict(list)
    for role in held:
        for row in roles[role.job_role_id]:
            for first, after in both([span_of(role)], [span_of(row)]):
                due = days_after(max(first, site.register_start), row.days_allowed)
                found[people[role.person_id], procedures[row.procedure_id]].append(Ask(first, after, due))
    return found


def span_of(row: Any) -> Days:
    """From `from_day` through `to_day`, both good days."""
    return row.from_day, row.to_day + DAY if row.to_day else None


def of_signatures(site: Site, keys: Keys = None, known_by: datetime | None = None) -> list[Told]:
    """Sign-offs that should not have been made, by sign-off."""
    rows = list(SIGN_OFFS.rows(known_by, site=[site.pk], keys=None if keys is None else [UUID(key) for key in keys]))
    if not rows:
        return []
    signers, signed = {row[3] for row in rows}, {row[2] for row in rows}
    procedures = {procedure.pk: procedure for procedure in NAMED.all(keys={row[5] for row in rows})}
    ground = SignatureGround(
        procedures,
        names_of(site, signed),
        [grant for grant in gather.grant_facts(site.organisation, known_by) if grant.site == site.pk],
        usable_days(site, known_by, signers, {procedure.code for procedure in procedures.values()}),
        withdrawals(site, known_by, signed),
    )
    return [(one.evidence[0], one) for one in wrong_signatures(signature(row, ground) for row in rows)]


def sign_offs(site: Any, keys: Any, known_by: datetime | None = None) -> Any:
    rows = SignOff.objects.live(known_by).filter(site__in=site)
    return (rows if keys is None else rows.filter(pk__in=keys)).values_list(*COLUMNS)


SIGN_OFFS = Prepared(sign_offs)


@dataclass(frozen=True, slots=True)
class SignatureGround:
    """What a signature is judged by: authority at the site, usable stretches and withdrawals by person and procedure."""

    procedures: Mapping[int, Procedure]
    names: Mapping[UUID, str]
    granted: Sequence[gather.GrantFact]
    usable: Usable
    taken: Mapping[Key, Sequence[date]]


def signature(row: tuple[Any, ...], ground: SignatureGround) -> JudgedSignature:
    pk, day, person, signer, signer_name, procedure_key = row
    procedure, who = ground.procedures[procedure_key], str(signer)
    mine = (grant for grant in ground.granted if grant.person == who and grant.holds_on(day))
    return JudgedSignature(
        id=str(pk),
        day=day,
        person=ground.names[person],
        person_id=str(person),
        signer=signer_name,
        signer_id=who,
        procedure=str(procedure),
        had_authority=any(grant.covers(procedure.code, procedure.area) for grant in mine),
        was_usable=holds(ground.usable.get((signer, procedure.code), ()), day),
        withdrawn=first_from(ground.taken.get((person, procedure.code), ()), day),
    )


def first_from(days: Iterable[date], day: date) -> date | None:
    return min((each for each in days if day <= each), default=None)


def withdrawals(site: Site, known_by: datetime | None, people: Collection[Any] | None = None) -> dict[Key, list[date]]:
    found: dict[Key, list[date]] = defaultdict(list)
    for person, code, day in TAKEN.rows(known_by, organisation=[site.organisation_id], people=people):
        found[person, code].append(day)
    return found


def taken(organisation: Any, people: Any, known_by: datetime | None = None) -> Any:
    rows = Withdrawal.objects.live(known_by).filter(procedure__organisation__in=organisation)
    rows = rows if people is None else rows.filter(person__in=people)
    return rows.values_list("person", "procedure__code", "happened_on")


TAKEN = Prepared(taken, people=0)


def of_misses(site: Site, keys: Keys = None, known_by: datetime | None = None) -> list[Told]:
    """Critical misses by people who were usable, that nobody answered by the next day, by observation."""
    found = Observation.objects.live(known_by).filter(site=site, critical_miss=True)
    found = found if keys is None else found.filter(pk__in=keys)
    rows = list(found.values_list("pk", "happened_on", "person", "version__procedure__code"))
    if not rows:
        return []
    people = {row[2] for row in rows}
    usable, taken = usable_days(site, known_by, people, {row[3] for row in rows}), withdrawals(site, known_by, people)
    names, said = names_of(site, people), answers(site, [row[0] for row in rows], known_by)
    misses = [
        CriticalMiss(str(pk), day, names[who], code, first_from([*said[pk], *taken[who, code]], day))
        for pk, day, who, code in rows
        if holds(usable.get((who, code), ()), day)
    ]
    return [(one.evidence[0], one) for one in unanswered_misses(misses)]


def answers(site: Site, misses: Collection[UUID], known_by: datetime | None) -> dict[UUID, list[date]]:
    found: dict[UUID, list[date]] = defaultdict(list)
    rows = CriticalMissAnswer.objects.live(known_by).filter(observation__in=misses)
    for pk, day in rows.values_list("observation", "happened_on"):
        found[pk].append(day)
    return found


def of_rings(site: Site, keys: Keys = None, known_by: datetime | None = None) -> list[Told]:
    """People who signed each other with no beginning, by procedure; at every site where one of these signatures was made."""
    rows = signed_in(site, keys, known_by)
    if not may_be_round(rows):
        return []
    named = {person for row in rows for person in row[3:5]}
    taken = withdrawals(site, known_by, named)
    links = [
        SignerLink(str(pk), day, code, str(signer), str(person), first_from(taken[person, code], day))
        for pk, day, code, signer, person, _ in rows
    ]
    begun = anchored(site, {row[2] for row in rows}, known_by)
    if not rings(links, begun, {}):
        return []
    said = rings(links, begun, {str(pk): name for pk, name in names_of(site, named).items()})
    mine = {str(pk) for pk, *_, at in rows if at == site.pk}
    return [(one.about, one) for one in said if mine & {*one.evidence}]


def may_be_round(rows: Iterable[tuple[Any, ...]]) -> bool:
    """Whether people signed each other in a procedure at all, whatever began it, and whatever was withdrawn since."""
    by_code: dict[str, list[SignerLink]] = defaultdict(list)
    for pk, day, code, signer, person, _ in rows:
        by_code[code].append(SignerLink(str(pk), day, code, str(signer), str(person)))
    return any(round_of(links) for links in by_code.values())


def signed_in(site: Site, codes: Keys, known_by: datetime | None) -> list[tuple[Any, ...]]:
    """(id, day, procedure code, signer, person, site) of each sign-off of the organisation that stands."""
    told = gather.versions_told(site.organisation_id)
    versions = [pk for pk, by in told.items() if codes is None or by.code in codes]
    rows = SIGNED.rows(known_by, versions=versions)
    return [(pk, day, told[version].code, *more) for pk, day, version, *more in rows]


SIGNED = Prepared(
    lambda versions, known_by=None: (
        SignOff.objects.live(known_by)
        .filter(version__in=versions)
        .values_list("pk", "happened_on", "version_id", "signer", "person", "site_id")
    )
)


def anchored(site: Site, codes: Collection[str], known_by: datetime | None = None) -> list[Anchor]:
    """Founding grants, carried-over records, and met assessments by an outside witness, in these procedures."""
    here, told = [site.organisation_id], gather.versions_told(site.organisation_id)
    granted, carried = (question.rows(known_by, organisation=here) for question in (FOUNDED, CARRIED))
    seen = WITNESSED.rows(known_by, versions=[pk for pk, by in told.items() if by.code in codes])
    found = [
        *((code, person, day) for named, person, day in granted for code in named),
        *carried,
        *((told[version].code, person, day) for version, person, day in seen),
    ]
    return [(code, str(person), day) for code, person, day in found if code in codes]


def anchors(model: Any, said: str) -> Prepared:
    return Prepared(
        lambda organisation, known_by=None: (
            model.objects.live(known_by)
            .filter(site__organisation__in=organisation)
            .values_list(said, "person", "happened_on")
        )
    )


FOUNDED, CARRIED = anchors(FoundingGrant, "procedures"), anchors(CarriedOver, "procedure__code")
WITNESSED = Prepared(
    lambda versions, known_by=None: (
        Observation.objects.live(known_by)
        .filter(version__in=versions, witness__isnull=False, outcome="met", purpose="assessment")
        .values_list("version_id", "person", "happened_on")
    )
)


def of_signers(site: Site, keys: Keys = None, known_by: datetime | None = None) -> list[Told]:
    """Procedures that job roles here need and that fewer than two people could sign."""
    needed: dict[int, list[Days]] = defaultdict(list)
    every = {row.pk: row for row in PROCEDURES.all(organisation=[site.organisation_id])}
    for row in ASKED.all(site=[site.pk]):
        if row.procedure_id in every and not every[row.procedure_id].is_topic:
            needed[row.procedure_id].append(span_of(row))
    procedures = [row for row in every.values() if row.pk in needed]
    granted = [g for g in gather.grant_facts(site.organisation, known_by) if g.site == site.pk]
    holders = {UUID(g.person) for g in granted}
    people = {p.pk: p for p in PEOPLE.all(keys=holders) if p.organisation_id == site.organisation_id}
    usable = usable_days(site, known_by, holders)
    duties = [Duty(p.code, p.title, needed[p.pk], could_sign(p, granted, people, usable)) for p in procedures]
    names = {str(pk): str(person) for pk, person in people.items()}
    return [("", one) for one in too_few_signers(duties, names, site.register_start)]


def could_sign(
    procedure: Procedure, granted: Iterable[gather.GrantFact], people: Mapping[UUID, Person], usable: Usable
) -> dict[str, list[Days]]:
    """Whoever has authority for it and may do it alone, until the last day at work."""
    found: dict[str, list[Days]] = defaultdict(list)
    for grant in granted:
        person = people.get(UUID(grant.person))
        if person is not None and grant.covers(procedure.code, procedure.area):
            here = (grant.first, grant.last + DAY if grant.last else None)
            work = (date.min, person.last_day + DAY if person.last_day else None)
            found[grant.person] += both(both([here], [work]), usable.get((person.pk, procedure.code), ()))
    return found
