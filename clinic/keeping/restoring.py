"""Back from a copy into an empty place, proved before it is used: against every head of the logs that is known.

A copy of a bare file can be whole in itself and yet lack the end of the record. Only heads that lie elsewhere show that: in
the folders of checkpoints, beside later copies, on paper, in mail. A restore that falls short of one of them fails, and
names how many facts are missing; whoever has nothing better accepts that number openly, and the record keeps that they did.
"""

import shutil
from collections.abc import Callable, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.db.migrations.loader import MigrationLoader

from clinic import checkpoints, clock
from clinic.keeping.copies import Opened, opened
from clinic.keeping.dumps import load
from clinic.keeping.places import (
    POSTGRESQL,
    NotKept,
    emptied,
    engine_of,
    own_place,
    refuse_if_taken,
    register_at,
)
from clinic.models import Change, Site
from clinic.record import record
from clinic.rules.jumps import utc_words
from clinic.rules.words import counted
from clinic.seals import check_register, check_site
from clinic.verify import Fails, LogHead, held_head

RESTORED = "clinic.restore"  # `Change.about` of the fact that a register came back from a copy
MOST_TOLD = 5
Say = Callable[[str], object]


@dataclass(frozen=True, slots=True)
class KnownHead:
    """A head that lies outside the copy: where, and of which site; empty for one typed from paper."""

    where: str
    site: str
    head: LogHead
    is_of_copy: bool = False


@dataclass(frozen=True, slots=True)
class RestoreProof:
    """What a restored register was proved to hold. `missing`: facts of each site that are known to lie beyond it."""

    seals: int
    heads: int
    missing: Mapping[str, int]
    papers: int = 0


# ── what is known from elsewhere


def known_heads(file: Path, copy: Opened, typed: Sequence[str], keys: Sequence[str]) -> list[KnownHead]:
    """Every head in the folders of checkpoints and beside the copies, and those given. NotKept where one cannot be read:
    a head that cannot be relied on is looked into before anything is restored."""
    keys = [*keys, *copy.manifest["keys"]]
    alone = next(iter(copy.notes)) if len(copy.notes) == 1 else ""
    try:
        own = [KnownHead("the copy", site, checkpoints.our_own(note, keys), True) for site, note in copy.notes.items()]
        kept = checkpoints.all_kept([file.parent])
        found = [KnownHead(str(each.place), each.site, checkpoints.our_own(each.note, keys)) for each in kept]
        return own + found + [given(words, keys, alone) for words in typed]
    except Fails as wrong:
        raise NotKept(f"A checkpoint cannot be relied on: {wrong}") from wrong


def given(words: str, keys: Sequence[str], alone: str) -> KnownHead:
    """A head from paper (SIZE:HEAD), or a file with a signed one. `alone`: the site that paper means, where there is one."""
    head = held_head(words, None)
    if head.origin:
        head = checkpoints.our_own(Path(words).read_text(encoding="utf-8"), keys)
    return KnownHead(words, head.origin.rpartition("/")[2] or alone, head)


def missing_from(known: Sequence[KnownHead]) -> dict[str, int]:
    """By site, how many facts the furthest known head is beyond the copy's own; sites that reach as far are left out."""
    reached = {each.site: each.head.size for each in known if each.is_of_copy}
    beyond = [(each.site, each.head.size - reached.get(each.site, 0)) for each in known if each.site]
    return {site: count for site, count in sorted(beyond) if count > 0}


# ── restoring


def restore(
    file: Path, *, identity: Path | None = None, typed: Sequence[str] = (), keys: Sequence[str] = (), accepted: int = 0,
    say: Say = print,
) -> RestoreProof:  # fmt: skip
    """Put the copy into the empty place that the settings name. NotKept where it is not empty, the copy is damaged or
    older than what is known, or the restored record does not hold; then the place is as empty as before."""
    with opened(file, identity) as copy, ExitStack() as then:
        refuse_if_other(copy, own_place())
        known = known_heads(file, copy, typed, keys)
        missing = missing_from(known)
        refuse_unless_accepted(copy, missing, accepted)
        refuse_if_taken(own_place())
        staged = staged_for(own_place(), then)
        seals = put_and_proved(copy, staged, known, say)
        into_place(staged)
        checkpoints.keep_former(copy.manifest["keys"])
        papers = bring_papers(copy.papers)
        note_restored(copy, missing, file.parent)
    return RestoreProof(seals, len(known), missing, papers)


def drill(
    file: Path, *, identity: Path | None = None, typed: Sequence[str] = (), keys: Sequence[str] = (), say: Say = print
) -> RestoreProof:
    """Restore the copy on trial, beside the register that goes on, prove it, and throw it away. A copy that is older than
    today's record is no fault here; one that is not a beginning of it is."""
    with opened(file, identity) as copy, ExitStack() as then:
        refuse_if_other(copy, own_place())
        known = known_heads(file, copy, typed, keys)
        own = own_place()
        staged = trial_database(own, then) if engine_of(own) == POSTGRESQL else staged_for(own, then)
        return RestoreProof(put_and_proved(copy, staged, known, say), len(known), missing_from(known))


def refuse_unless_accepted(copy: Opened, missing: Mapping[str, int], accepted: int) -> None:
    """NotKept where the copy is older than what is known, unless whoever restores it names how many facts that costs."""
    total = sum(missing.values())
    if total == accepted:
        return
    each = "; ".join(f"{site}: {counted(count, 'fact')}" for site, count in missing.items())
    raise NotKept(
        f"This copy of {utc_words(copy.made_at)} is older than what is known elsewhere. Missing are {each}. Restore "
        f"a later copy. If there is none, say so openly with --accept-missing {total}, and the record keeps that you did."
        if missing
        else f"Nothing is missing from this copy as far as is known, and --accept-missing says {accepted}."
    )


def refuse_if_other(copy: Opened, database: dict[str, Any]) -> None:
    if copy.manifest["engine"] != engine_of(database):
        raise NotKept(
            f"The copy is of {copy.manifest['engine']}, and the settings name {engine_of(database)}. Restore it into an empty "
            "database of its own kind, then “manage.py move” takes it to the other."
        )


def staged_for(database: dict[str, Any], then: ExitStack) -> dict[str, Any]:
    """Where the database is put to be proved: a file beside its place, or the empty PostgreSQL database itself."""
    if engine_of(database) == POSTGRESQL:
        return database
    place = Path(database["NAME"])
    place.parent.mkdir(parents=True, exist_ok=True)
    folder = Path(then.enter_context(TemporaryDirectory(dir=place.parent, prefix=".restored-")))
    return database | {"NAME": str(folder / place.name)}


def trial_database(own: dict[str, Any], then: ExitStack) -> dict[str, Any]:
    """A new database on the same server, which goes at the end."""
    name = f"millroom_drill_{uuid4().hex[:12]}"
    with connection.cursor() as cursor:
        cursor.execute(f'CREATE DATABASE "{name}"')
    then.callback(gone, name)
    return own | {"NAME": name}


def gone(name: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


def put_and_proved(copy: Opened, staged: dict[str, Any], known: Sequence[KnownHead], say: Say) -> int:
    """Returns how many seals were proved. Where one does not hold, nothing of it is left."""
    say("Restoring the database …")
    try:
        load(copy.database, staged)
        with register_at(staged):
            up_to_date(copy.manifest["migrations"])
            say("Checking every seal, and every head that is known …")
            return proved(known)
    except Exception:
        if engine_of(staged) == POSTGRESQL:
            emptied(staged)
        raise


def up_to_date(migrations: Sequence[Sequence[str]]) -> None:
    """Bring an older copy to this version's tables. NotKept where the copy is the newer."""
    on_disk = set(MigrationLoader(connection).disk_migrations or ())
    made_with = {(app, name) for app, name in migrations}
    if on_disk and made_with - on_disk - set(MigrationLoader(connection).replacements):
        raise NotKept("The copy was made by a later version of the register: install that one first.")
    if made_with and on_disk - made_with:
        call_command("migrate", verbosity=0)


def proved(known: Sequence[KnownHead]) -> int:
    """Of the register in place: every check there is, and every head that is known. Returns how many seals hold; NotKept with
    what does not."""
    sites = {site.code: site for site in Site.objects.order_by("pk")}
    logs = {code: checkpoints.leaves(site) for code, site in sites.items()}
    says = [f"{each.where}: {why}" for each in known if (why := falls_short(each, logs))]
    found = [*(each for site in sites.values() for each in check_site(site)), *check_register()]
    says += [f"{each.kind} {each.fact}: {each.says}" for each in found if each.part != "checkpoints"]
    if says:
        more = f" … and {len(says) - MOST_TOLD} more" if len(says) > MOST_TOLD else ""
        raise NotKept(f"The restored record does not hold: {'; '.join(says[:MOST_TOLD])}{more}.")
    return sum(map(len, logs.values()))


def falls_short(known: KnownHead, logs: Mapping[str, Sequence[bytes]]) -> str:
    """Why the head is not one of these logs; empty where it is. The copy's own must be reached, and not be passed; how far
    others lie beyond was asked before."""
    if not known.site:
        says = [checkpoints.extends(log, known.head) for log in logs.values()]
        return "" if "" in says else f"no site has the log with that head ({'; '.join(says)})"
    log = logs.get(known.site, [])
    if known.is_of_copy and len(log) > known.head.size:
        return f"{known.site} has {len(log)} seals, and {known.head.size} were copied"
    return "" if known.head.size > len(log) and not known.is_of_copy else checkpoints.extends(log, known.head)


def into_place(staged: dict[str, Any]) -> None:
    """The proved file takes its place at once. PostgreSQL was proved where it stands."""
    if engine_of(staged) != POSTGRESQL:
        connection.close()
        place = Path(own_place()["NAME"])
        for beside in ("-wal", "-shm"):
            place.with_name(place.name + beside).unlink(missing_ok=True)
        Path(staged["NAME"]).chmod(0o600)
        Path(staged["NAME"]).replace(place)


def bring_papers(folder: Path) -> int:
    """The issued papers of the copy, where none of that name is yet. Returns how many came."""
    settings.DOCUMENTS_DIR.mkdir(parents=True, exist_ok=True)
    come = [each for each in sorted(folder.glob("*")) if not (settings.DOCUMENTS_DIR / each.name).exists()]
    for each in come:
        shutil.copyfile(each, settings.DOCUMENTS_DIR / each.name)
    return len(come)


def note_restored(copy: Opened, missing: Mapping[str, int], folder: Path) -> None:
    """In the log of each site: from which copy it came back, and what is known to be lost."""
    for site in Site.objects.filter(last_position__gt=0).order_by("pk"):
        lost = missing.get(site.code, 0)
        said = f"The register was restored from the copy of {utc_words(copy.made_at)}"
        said += (
            f"; {counted(lost, 'fact')} recorded after it are lost." if lost else "; nothing is known to be missing."
        )
        after = {"made_at": copy.made_at.isoformat(), "position": site.last_position, "missing": lost}
        today = clock.today(site.time_zone)
        fact = Change(site=site, happened_on=today, about=RESTORED, about_id=str(site.pk), said=said, after=after)
        record(fact, by=None)
        if lost:
            checkpoints.set_aside(site.code, site.last_position, [folder])
