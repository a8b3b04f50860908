"""Authority, founding grants and carried-over records: what signing rests on before anything was signed here."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import Q

from clinic import clock
from clinic.models import Person, Site
from clinic.permissions import May, belongs, who_may
from clinic.record import Refusal, record, refuse_if
from clinic.rules.words import short_day
from training.actions.proof import Proved, sign_beside
from training.models import Authority, CarriedOver, FoundingGrant, Procedure, SignOff, StandingSpan, Version
from training.rules.grants import last_carried_over_day, last_founding_day
from training.spans import many_facts


def grant_authority(
    person: Person, site: Site, first: date, last: date | None, *, by: Person | None,
    procedures: Sequence[str] = (), areas: Sequence[str] = (), counts_because: str = "", id: UUID | None = None,
) -> Authority:  # fmt: skip
    """May observe and sign for these procedures or areas at the site, from a day to a day (both good). `counts_because`:
    why what they watch counts as evidence although they may not work alone in it; without it, it does not."""
    refuse_if(
        Refusal("Nothing is covered.", "Choose procedures, or an area.", "procedures")
        if not (procedures or areas)
        else None,
        Refusal("It ends before it starts.", "Choose a later last day.", "to_day") if last and last < first else None,
        Refusal("Nobody grants authority to themselves.", "Let another owner grant it.", "person")
        if by == person
        else None,
        sent=id,
    )
    return record(
        Authority(
            id=id or uuid4(), site=site, happened_on=first, person=person, to_day=last,
            procedures=sorted(procedures), areas=sorted(areas), counts_because=counts_because.strip(),
        ),
        by=by,
    )  # fmt: skip


def not_usable_in(
    person: Person, day: date, procedures: Sequence[str] = (), areas: Sequence[str] = ()
) -> list[Procedure]:
    """Procedures of those covered in which the person may not work alone on the day: there, what they watch is no evidence
    without a reason. Topics are taught, not watched."""
    rows = Procedure.objects.of(person.organisation).filter(kind=Procedure.Kind.PRACTICE)
    covered = rows.filter(Q(code__in=procedures) | Q(area__in=areas))
    usable = StandingSpan.objects.on(day).usable().filter(person=person).values("procedure")
    return list(covered.exclude(pk__in=usable))


def end_authority(authority: Authority, last: date, reason: str, *, by: Person, id: UUID | None = None) -> Authority:
    """The same authority with an earlier last day, standing in the place of the first."""
    refuse_if(
        Refusal("The last day is before it began.", f"Choose {short_day(authority.happened_on)} or later.", "to_day")
        if last < authority.happened_on
        else None,
        Refusal("Say why it ends.", "A few words are enough.", "reason") if not reason.strip() else None,
    )
    return record(
        Authority(
            id=id or uuid4(), site=authority.site, happened_on=authority.happened_on, person=authority.person, to_day=last,
            procedures=authority.procedures, areas=authority.areas, counts_because=authority.counts_because,
            corrects=authority.pk, reason=reason.strip(),
        ),
        by=by,
    )  # fmt: skip


FOUNDED = "Responsibility: I state that this person may work alone, observe and sign in what is named, resting on what is said."


@transaction.atomic
def found(
    person: Person, site: Site, first: date, last: date, *, by: Person, procedures: Sequence[str],
    rests_on: str, detail: str, proved: Proved, id: UUID | None = None,
) -> FoundingGrant:  # fmt: skip
    """Start the chain of signing: authority and standing, with what it rests on, for at most twelve months. Signed by
    whoever makes it, who proved again who they are."""
    refuse_if(*against_founding(person, first, last, procedures, rests_on, detail), sent=id)
    row = FoundingGrant(
        id=id or uuid4(), site=site, happened_on=first, person=person, to_day=last, procedures=sorted(procedures),
        rests_on=rests_on, detail=detail.strip(),
    )  # fmt: skip
    row = record(row, by=by)
    sign_beside(row, FOUNDED, by=by, proved=proved)
    return row


AT_THE_MACHINE = "Entered at the register’s own computer, because nobody else here makes founding grants."


@transaction.atomic
def found_at_machine(
    person: Person, site: Site, first: date, last: date, *, procedures: Sequence[str], rests_on: str, detail: str
) -> FoundingGrant:
    """A lone owner starts the chain with themselves: nobody founds themselves on a page, and there is nobody else. It is
    nobody's signature, and every document that names it says so beside what it rests on."""
    others = who_may(May.APPOINT, site, clock.today(site.time_zone)).exclude(pk=person.pk)
    refuse_if(
        *against_founding(person, first, last, procedures, rests_on, detail),
        Refusal(
            f"{', '.join(map(str, others))} may make it, and sign it.",
            "Let it be done on the page: Roster, Authority, Founding grant.",
        )
        if others
        else None,
        Refusal(f"{person} is nobody of {site}.", "Name one of its people.") if not belongs(person, site) else None,
    )
    row = FoundingGrant(
        site=site, happened_on=first, person=person, to_day=last, procedures=sorted(procedures), rests_on=rests_on,
        detail=f"{detail.strip()} {AT_THE_MACHINE}", reason=AT_THE_MACHINE,
    )  # fmt: skip
    return record(row, by=None)


def against_founding(
    person: Person, first: date, last: date, procedures: Sequence[str], rests_on: str, detail: str
) -> list[Refusal | None]:
    """What is missing or wrong in a founding grant, whoever makes it."""
    latest = last_founding_day(first, side_by_side=rests_on == FoundingGrant.RestsOn.SIDE_BY_SIDE)
    alive = alive_sign_offs(person, procedures, first)
    early = not_in_force(person, procedures, first)
    return [
        Refusal("Nothing is covered.", "Choose procedures.", "procedures") if not procedures else None,
        Refusal("Say what it rests on.", "Name the visit, the course or the declaration and its day.", "detail")
        if not detail.strip()
        else None,
        Refusal("It would last too long.", f"The last day can be {short_day(latest)} at most.", "to_day")
        if last > latest
        else None,
        Refusal("It ends before it starts.", "Choose a later last day.", "to_day") if last < first else None,
        Refusal(f"A sign-off is alive for {', '.join(alive)}.", "Leave these out: they need no founding.", "procedures")
        if alive
        else None,
        Refusal(
            f"No version is in force that day for {', '.join(early)}.", "Put a version in force first.", "procedures"
        )
        if early
        else None,
    ]


def alive_sign_offs(person: Person, codes: Sequence[str], day: date) -> list[str]:
    spans = StandingSpan.objects.on(day).usable().filter(person=person, procedure__code__in=codes)
    return sorted(spans.filter(basis__in=["observed", "taught"]).values_list("procedure__code", flat=True))


def not_in_force(person: Person, codes: Sequence[str], day: date) -> list[str]:
    here = Version.objects.live().filter(procedure__organisation=person.organisation_id, in_force_from__lte=day)
    return sorted(set(codes) - set(here.values_list("procedure__code", flat=True)))


@dataclass(frozen=True, slots=True)
class PaperRecord:
    """One carried-over record before it is checked."""

    person: Person
    procedure: Procedure
    original_day: date
    by_whom: str
    paper_place: str
    valid_until: date


def carry_over(paper: PaperRecord, site: Site, *, by: Person | None, id: UUID | None = None) -> CarriedOver:
    """What somebody mastered before the register started. Counts from the register start day. Sent again, it is one."""
    if id is None or not CarriedOver.objects.filter(pk=id).exists():
        refuse_if(*carry_over_refusals(paper, site))
    return record(
        CarriedOver(
            id=id or uuid4(), site=site, happened_on=site.register_start, person=paper.person, procedure=paper.procedure,
            original_day=paper.original_day, by_whom=paper.by_whom.strip(), paper_place=paper.paper_place.strip(),
            valid_until=paper.valid_until,
        ),
        by=by,
    )  # fmt: skip


def carry_over_refusals(paper: PaperRecord, site: Site) -> list[Refusal]:
    start, latest = site.register_start, last_carried_over_day(site.register_start)
    signed = SignOff.objects.live().filter(
        person=paper.person, version__procedure=paper.procedure, happened_on__lt=start
    )
    again = CarriedOver.objects.live().filter(person=paper.person, procedure=paper.procedure)
    checks = [
        (paper.original_day >= start, f"{short_day(paper.original_day)} is not before the register started.", f"Give the day on the paper, before {short_day(start)}.", "original_day"),
        (paper.valid_until > latest, "It would last too long.", f"Carried-over records end by {short_day(latest)}.", "valid_until"),
        (paper.valid_until < start, "It ends before the register starts.", f"Choose a day from {short_day(start)}.", "valid_until"),
        (not paper.by_whom.strip(), "Who signed the paper is not said.", "Name them in words.", "by_whom"),
        (not paper.paper_place.strip(), "Where the paper is kept is not said.", "Name the folder or drawer.", "paper_place"),
        (signed.exists(), "There is a sign-off from before.", "Nothing is carried over after a sign-off.", "procedure"),
        (again.exists(), "This is carried over already.", "Correct the record that is there.", "procedure"),
        (bool(not_in_force(paper.person, [paper.procedure.code], start)), "No version is in force on the register start day.", "Put one in force from that day.", "procedure"),
    ]  # fmt: skip
    return [Refusal(says, supply, name) for wrong, says, supply, name in checks if wrong]


def carry_over_all(papers: Sequence[PaperRecord], site: Site, *, by: Person) -> list[CarriedOver]:
    """All of them, or none."""
    with transaction.atomic(), many_facts():
        return [carry_over(paper, site, by=by) for paper in papers]
