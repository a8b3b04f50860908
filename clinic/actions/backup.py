"""A copy of the register is made, or restored on trial, and every site's record says how it went."""

import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from datetime import datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from django.conf import settings
from django.template.defaultfilters import filesizeformat

from clinic import clock
from clinic.actions.safeguards import note_safeguard
from clinic.keeping import copies, restoring
from clinic.keeping.copies import Copy
from clinic.keeping.places import NotKept
from clinic.keeping.restoring import RestoreProof, Say
from clinic.models import Safeguard, Site
from clinic.rules.words import counted

NIGHT = time(2)  # local time of the first site, from which the copy of a day is due
STALE = timedelta(hours=6)  # a copy that was begun so long ago was broken off
MOST_SAID = 300


def back_up(into: Path, recipients: Sequence[str]) -> Copy:
    """Make a copy in the folder and record it. Where it did not come about, that is recorded, and NotKept says why."""
    try:
        made = copies.make(into, list(recipients))
    except (NotKept, OSError) as wrong:
        note(Safeguard.Kind.BACKUP, False, f"{into}: {in_words(wrong)}")
        raise NotKept(f"The copy was not made. {in_words(wrong)}") from wrong
    lock = "locked, " if recipients else ""
    size = filesizeformat(made.size).replace("\xa0", " ")
    note(Safeguard.Kind.BACKUP, True, f"{made.file}: {lock}{counted(made.seals, 'seal')}, {size}.")
    return made


def try_restoring(
    file: Path, *, identity: Path | None = None, typed: Sequence[str] = (), keys: Sequence[str] = (), say: Say = print
) -> RestoreProof:
    """Restore the copy on trial and record what was found. NotKept where it does not prove itself."""
    try:
        proved = restoring.drill(file, identity=identity, typed=typed, keys=keys, say=say)
    except (NotKept, OSError) as wrong:
        note(Safeguard.Kind.DRILL, False, f"{file.name}: {in_words(wrong)}")
        raise NotKept(in_words(wrong)) from wrong
    heads = counted(proved.heads, "known head")
    note(
        Safeguard.Kind.DRILL, True, f"{file.name} restored on trial: {counted(proved.seals, 'seal')} hold, and {heads}."
    )
    return proved


def in_words(wrong: Exception) -> str:
    return f"{wrong.filename or 'The disk'}: {wrong.strerror}." if isinstance(wrong, OSError) else str(wrong)


def note(kind: Safeguard.Kind, good: bool, said: str) -> None:
    """In every site's record, done by the register itself. The same failure is said once a day."""
    for site in Site.objects.filter(last_position__gt=0).order_by("pk"):
        today = clock.today(site.time_zone)
        same = Safeguard.objects.live().filter(site=site, kind=kind.value, happened_on=today, good=False)
        if good or not same.exists():
            note_safeguard(kind.value, good, said[:MOST_SAID], today, site=site, done_by=None, by=None)


# ── every night


def is_due(folder: Path) -> bool:
    """Whether the night's copy is still to be made. A computer that was off at night makes it at its next start."""
    site = Site.objects.filter(last_position__gt=0).order_by("pk").first()
    if site is None:
        return False
    newest = max(copies.copies_in(folder), default=None)
    return newest is None or not last_night(site.time_zone) <= newest <= clock.now()


def last_night(zone: str) -> datetime:
    """The last time that the hour struck in that zone."""
    now = clock.now().astimezone(ZoneInfo(zone))
    struck = datetime.combine(now.date(), NIGHT, ZoneInfo(zone))
    return struck if struck <= now else datetime.combine(now.date() - timedelta(days=1), NIGHT, ZoneInfo(zone))


def back_up_if_due() -> Copy | None:
    """The night's copy, where a place is named and it is due. Of several hosts with one place, one makes it."""
    folder: Path | None = settings.BACKUP_DIR
    if folder is None or not is_due(folder):
        return None
    with alone_in(folder) as mine:
        return back_up(folder, settings.BACKUP_FOR) if mine and is_due(folder) else None


@contextmanager
def alone_in(folder: Path) -> Iterator[bool]:
    """Whether nobody else makes a copy in that folder. A place that is not there is named by the copy itself."""
    mark, mine = folder / ".being-made", True
    with suppress(OSError):
        if mark.stat().st_mtime < (clock.now() - STALE).timestamp():
            mark.unlink()
    try:
        os.close(os.open(mark, os.O_CREAT | os.O_EXCL, 0o600))
    except FileExistsError:
        mine = False
    except OSError:
        mark = Path(os.devnull)
    try:
        yield mine
    finally:
        if mine and mark.name == ".being-made":
            mark.unlink(missing_ok=True)
