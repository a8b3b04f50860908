"""One copy of the register is one file: the database, the issued papers, and the signed head of each site's log.

Beside it lies a small file with the same heads in the open, so that a later restore knows how far the record went even
where the copy itself is locked. The key that signs is in no copy: keep one of it apart.
"""

import json
import os
import re
import shutil
import tarfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import file_digest
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from typing import Any

import pyrage
from django.conf import settings
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder
from django.utils.text import slugify

from clinic import checkpoints, clock, env
from clinic.checkpoints import HEADS
from clinic.keeping.dumps import dump
from clinic.keeping.places import NotKept, room
from clinic.models import Organisation, Site
from clinic.rules.pruning import kept_of

FORM = 1
MANIFEST, PAPERS = "manifest.json", "documents"
STAMP = "%Y%m%dT%H%M%SZ"
NAME = re.compile(r"(?P<whose>.+)-(?P<stamp>\d{8}T\d{6}Z)\.tar\.gz(\.age)?")
LOCKED_BEGINS = b"age-encryption.org/"


@dataclass(frozen=True, slots=True)
class Copy:
    """A copy of the register as a file. `seals` counts those of all its sites; `removed` is what the rule of pruning took."""

    file: Path
    made_at: datetime
    size: int
    seals: int
    removed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Opened:
    """A copy unpacked: its folder, and what it says of itself."""

    folder: Path
    manifest: dict[str, Any]

    @property
    def database(self) -> Path:
        return self.folder / str(self.manifest["database"])

    @property
    def papers(self) -> Path:
        return self.folder / PAPERS

    @property
    def notes(self) -> dict[str, str]:
        """The signed head of each site, by its short name."""
        return dict(self.manifest["heads"])

    @property
    def made_at(self) -> datetime:
        return datetime.fromisoformat(self.manifest["made_at"])


# ── making


def make(into: Path, recipients: list[str]) -> Copy:
    """Copy the register into the folder, locked for the recipients where there are any, and prune the older copies there.
    NotKept, or OSError, where it did not come about; then nothing older was removed."""
    made_at = clock.now().replace(microsecond=0)
    into.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory(dir=room(), prefix=".copy-") as found:
        folder = Path(found)
        file, manifest = dump(folder, seen)
        manifest |= {"made_at": made_at.isoformat(), "database": file.name, "sha256": digest_of(file)}
        packed = packed_in(folder, file, manifest)
        ready = locked(packed, recipients) if recipients else packed
        place = into / f"{whose()}-{made_at.astimezone(UTC).strftime(STAMP)}.tar.gz{'.age' if recipients else ''}"
        put(ready, place)
        heads = folder / "heads"
        heads.write_text(json.dumps(manifest["heads"], indent=1), encoding="utf-8")
        put(heads, place.with_name(place.name + HEADS))
    return Copy(place, made_at, place.stat().st_size, manifest["seals"], tuple(prune(into)))


def whose() -> str:
    first = Organisation.objects.order_by("pk").first()
    return slugify(first.name if first else "") or "register"


def seen() -> dict[str, Any]:
    """What a copy says of itself, read from the very state that was copied."""
    sites = list(Site.objects.select_related("organisation").filter(last_position__gt=0).order_by("pk"))
    return {
        "form": FORM,
        "engine": connection.vendor,
        "migrations": sorted(map(list, MigrationRecorder(connection).applied_migrations())),
        "seals": sum(site.last_position for site in sites),
        "heads": {site.code: checkpoints.checkpoint(site) for site in sites},
        "keys": sorted({checkpoints.public_key(checkpoints.origin_of(site)) for site in sites}),
    }


def packed_in(folder: Path, file: Path, manifest: dict[str, Any]) -> Path:
    (folder / MANIFEST).write_text(json.dumps(manifest, indent=1), encoding="utf-8")
    packed = folder / "packed.tar.gz"
    with tarfile.open(packed, "w:gz", compresslevel=6) as archive:
        archive.add(folder / MANIFEST, MANIFEST)
        archive.add(file, file.name)
        for paper in sorted(settings.DOCUMENTS_DIR.glob("[!.]*")):
            archive.add(paper, f"{PAPERS}/{paper.name}", recursive=False)
    return packed


def locked(packed: Path, recipients: list[str]) -> Path:
    """Encrypted with age (age-encryption.org/v1) to public keys; whoever holds one of their secret keys opens it."""
    try:
        keys = [pyrage.x25519.Recipient.from_str(each) for each in recipients]
    except pyrage.RecipientError as wrong:
        raise NotKept(f"MILLROOM_BACKUP_FOR holds no public key that begins with age1: {wrong}.") from wrong
    place = packed.with_suffix(".age")
    pyrage.encrypt_file(str(packed), str(place), keys)
    packed.unlink()
    return place


def put(file: Path, place: Path) -> None:
    """All of it or nothing, for its owner alone, read back from the disk that it was written to."""
    aside = place.with_name(f".{place.name}.{os.getpid()}")
    try:
        with env.new_file(aside) as out, file.open("rb") as found:
            shutil.copyfileobj(found, out)
            out.flush()
            os.fsync(out.fileno())
        if digest_of(aside) != digest_of(file):
            raise NotKept(f"{place} does not read back as it was written: check that disk.")
        aside.replace(place)
    finally:
        aside.unlink(missing_ok=True)


def digest_of(file: Path) -> str:
    with file.open("rb") as found:
        return file_digest(found, "sha256").hexdigest()


# ── the folder of copies


def copies_in(folder: Path) -> dict[datetime, Path]:
    """This practice's copies by the instant each was made. Other files, and those of another practice, are not looked at."""
    found = {}
    for place in folder.glob(f"{whose()}-*.tar.gz*"):
        named = NAME.fullmatch(place.name)
        if named and named["whose"] == whose():
            with suppress(ValueError):
                found[datetime.strptime(named["stamp"], STAMP).replace(tzinfo=UTC)] = place
    return found


def prune(folder: Path) -> list[str]:
    """Remove the copies that the rule does not keep, each with its heads. Returns their names."""
    found = copies_in(folder)
    gone = [found[instant] for instant in sorted(set(found) - kept_of(found))]
    for place in gone:
        place.unlink(missing_ok=True)
        place.with_name(place.name + HEADS).unlink(missing_ok=True)
    return [place.name for place in gone]


# ── opening


@contextmanager
def opened(file: Path, identity: Path | None) -> Iterator[Opened]:
    """The copy unpacked for the length of the block. NotKept where it is none, is locked, or is damaged."""
    with TemporaryDirectory(dir=room(), prefix=".opened-") as found:
        folder = Path(found)
        packed = unlocked(file, identity, folder)
        try:
            unpack(packed, folder)
            manifest = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
            whole = digest_of(folder / manifest["database"]) == manifest["sha256"]
        except (tarfile.TarError, EOFError, OSError, ValueError, KeyError, TypeError) as wrong:
            raise NotKept(
                f"{file} is no copy of a register, or a damaged one: {wrong}. Try the copy before it."
            ) from wrong
        if manifest.get("form") != FORM:
            raise NotKept(f"{file} was made by a later version of the register: install that one first.")
        if not whole:
            raise NotKept(
                f"{file} is damaged: the database in it is not the one that was copied. Try the copy before it."
            )
        yield Opened(folder, manifest)


def unpack(packed: Path, folder: Path) -> None:
    """Every file of the copy. ValueError for what no copy holds: a link, or a name that leads elsewhere. What the standard library
    has for this, early releases of Python 3.11 do not."""
    with tarfile.open(packed, "r:gz") as archive:
        for member in archive:
            name, found = PurePosixPath(member.name), archive.extractfile(member) if member.isfile() else None
            if found is None or name.name == ".." or name.parts[:-1] not in ((), (PAPERS,)):
                raise ValueError(f"it holds {member.name}, which is no part of one")
            (folder / name).parent.mkdir(exist_ok=True)
            with found, (folder / name).open("wb") as out:
                shutil.copyfileobj(found, out)


def unlocked(file: Path, identity: Path | None, folder: Path) -> Path:
    """The packed copy, decrypted where it is locked."""
    with file.open("rb") as found:
        if found.read(len(LOCKED_BEGINS)) != LOCKED_BEGINS:
            return file
    if identity is None:
        raise NotKept(f"{file} is locked: give --identity, the file with the secret key that opens it.")
    packed = folder / "packed.tar.gz"
    try:
        pyrage.decrypt_file(str(file), str(packed), identities_in(identity))
    except pyrage.DecryptError as wrong:
        raise NotKept(f"{file} does not open with the key in {identity}: {wrong}.") from wrong
    return packed


def identities_in(file: Path) -> list[Any]:
    lines = [line.strip() for line in file.read_text(encoding="utf-8").splitlines()]
    secrets = [line for line in lines if line.startswith("AGE-SECRET-KEY-")]
    try:
        found = [pyrage.x25519.Identity.from_str(line) for line in secrets]
    except pyrage.IdentityError as wrong:
        raise NotKept(f"{file} holds a damaged secret key: {wrong}.") from wrong
    if not found:
        raise NotKept(
            f"{file} holds no line that begins with AGE-SECRET-KEY-: name the file that “backup --new-key” made."
        )
    return found


def new_key(file: Path) -> str:
    """A new secret key into a file that was not there, readable by its owner only. Returns the public key beside it."""
    identity = pyrage.x25519.Identity.generate()
    with env.new_file(file) as out:
        out.write(f"# public key: {identity.to_public()}\n{identity}\n".encode())
    return str(identity.to_public())
