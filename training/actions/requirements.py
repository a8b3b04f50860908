"""Which job roles need what: one by one, or a whole default set."""

from collections.abc import Sequence
from datetime import date

from django.db import transaction

from clinic.changes import change, make
from clinic.models import JobRole, Organisation, Person, Site
from clinic.record import Refusal, only_if_allowed, refuse_if
from clinic.rights import against_change
from clinic.rules.roles import ProcedureRole
from clinic.rules.words import short_day
from training.models import Procedure, Requirement

DAYS_ALLOWED = 90


@transaction.atomic
def require(
    role: JobRole, procedure: Procedure, from_day: date, days_allowed: int = DAYS_ALLOWED, *, site: Site | None = None,
    at: Site | None = None, by: Person | None = None,
) -> Requirement:  # fmt: skip
    """A job role needs a procedure from a day. `site` empty: everywhere, which is the group's to ask. `at`: where the
    change is recorded; where it is left out, at the oldest site. The same sent again is one."""
    row = Requirement(job_role=role, procedure=procedure, site=site, days_allowed=days_allowed, from_day=from_day)
    if by is not None:
        only_if_allowed(against_change(by, row, at or site or by.home_site))
    overlapping = Requirement.objects.in_force(from_day).filter(job_role=role, procedure=procedure, site=site)
    if there := overlapping.filter(from_day=from_day, to_day=None, days_allowed=days_allowed).first():
        return there
    refuse_if(
        Refusal(f"{role} already needs {procedure}.", "End that requirement first.", "procedure")
        if overlapping.exists()
        else None
    )
    chain = at or site or role.organisation.oldest_site
    return make(row, site=chain, by=by, said=f"{role} needs {procedure} from {short_day(from_day)}")


def end_requirement(row: Requirement, last: date, *, at: Site, by: Person) -> Requirement:
    """The last day on which the role needs it."""
    refuse_if(
        Refusal("It would end before it began.", f"Choose {short_day(row.from_day)} or later.", "to_day")
        if last < row.from_day
        else None
    )
    row.to_day = last
    change(row, site=at, by=by, said=f"{row}: no longer needed after {short_day(last)}", only=["to_day"])
    return row


@transaction.atomic
def apply_role_set(
    codes: Sequence[str], role: JobRole, organisation: Organisation, from_day: date, *, days_allowed: int = DAYS_ALLOWED,
    site: Site | None = None, at: Site | None = None, by: Person | None = None,
) -> list[Requirement]:  # fmt: skip
    """Require every procedure of a default set that the role does not need yet. `site` empty: everywhere. Bloodborne
    pathogens are asked from the first day, whatever is allowed for the others (row O-01)."""
    there = Requirement.objects.in_force(from_day).filter(job_role=role)
    needed = set((there.at(site) if site else there).values_list("procedure__code", flat=True))
    wanted = Procedure.objects.of(organisation).filter(code__in=set(codes) - needed)
    return [require(role, each, from_day, days_for(each, days_allowed), site=site, at=at, by=by) for each in wanted]


def days_for(procedure: Procedure, days_allowed: int) -> int:
    return 0 if procedure.stands_for == ProcedureRole.PATHOGENS else days_allowed
