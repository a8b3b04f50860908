"""The library of the repository in the practice of seven: in force since the register started, with authority granted."""

from datetime import date, datetime, time
from functools import cache
from zoneinfo import ZoneInfo

from django.conf import settings

from clinic import clock
from clinic.models import Person
from tests.cast import REGISTER_START, Cast
from training.actions.grants import grant_authority
from training.actions.library import load_library
from training.actions.proof import Proved
from training.actions.versions import approve, submit
from training.models import Draft, Procedure, Version
from training.rules.library import Library, read_library


@cache
def library() -> Library:
    return read_library(settings.LIBRARY_DIR)


def at(day: date, hour: int = 9) -> datetime:
    return datetime.combine(day, time(hour), tzinfo=ZoneInfo("Europe/London"))


def put_in_force(cast: Cast, *codes: str, from_day: date = REGISTER_START) -> dict[str, Version]:
    """These procedures in force, by the actions that a practice uses; the others stay drafts."""
    by = cast.coordinator.person
    found = {}
    with clock.standing_at(at(from_day)):
        if not Procedure.objects.exists():
            load_library(library(), cast.organisation, by=by)
        for code in codes:
            draft = Draft.objects.get(procedure__code=code)
            found[code] = approve(
                submit_bare(draft, by), from_day, site=cast.lane, by=cast.owner.person, proved=proved()
            )
    return found


def proved() -> Proved:
    return Proved("sign-in name and password", clock.now())


def submit_bare(draft: Draft, by: Person) -> Draft:
    return submit(draft, by=by)


def give_authority(cast: Cast, *codes: str) -> None:
    grant_authority(
        cast.supervisor.person, cast.lane, REGISTER_START, None, by=cast.owner.person, procedures=list(codes)
    )
