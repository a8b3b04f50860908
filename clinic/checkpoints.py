"""Heads that others hold: the state of a site's log, signed with a key that lies outside the database.

Whoever has the database can rewrite a whole chain, cut its end or number it anew, and every seal in it still fits. Only a
head that lies somewhere else can show that. A checkpoint is such a head: origin, size and root of the site's Merkle tree in
the open formats tlog-checkpoint and signed-note, signed with Ed25519. It stands on every binder and certificate, goes to
the owner by mail, and into folders outside the database, where the check of the seals finds it again.
"""

import base64
import json
import os
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.utils.text import slugify

from clinic import env
from clinic.models import Seal, Site
from clinic.rules.merkle import consistency, head_of, root
from clinic.seals import Break, is_digest
from clinic.verify import ED25519, Fails, LogHead, key_id, opened, read_head, read_key

HEADS = ".heads.json"
"""Ends the name of the file beside a copy of the register, with the heads of its logs by site."""
FORMER = "former-checkpoint-keys.txt"
"""Beside the key: public keys that signed before it."""
SIGNATURE_DASH = "\u2014"  # a signed note's own sign before a signature


def signing_key() -> Ed25519PrivateKey:
    """The key of this register, made at first use and readable by its owner only. The same on every host of one register."""
    place = settings.CHECKPOINT_KEY
    if not place.exists():
        env.keep(place, new_key())
    if os.name == "posix" and place.stat().st_mode & 0o077:
        raise ImproperlyConfigured(f"{place} can be read by others than its owner: chmod 600 {place}.")
    return key_in(place.read_text())


def new_key() -> str:
    plain = serialization.NoEncryption()
    kinds = serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8
    return Ed25519PrivateKey.generate().private_bytes(*kinds, plain).decode()


@lru_cache(maxsize=4)
def key_in(pem: str) -> Ed25519PrivateKey:
    try:
        key: object = serialization.load_pem_private_key(pem.encode(), password=None)
    except ValueError:
        key = None
    if not isinstance(key, Ed25519PrivateKey):
        raise ImproperlyConfigured(f"{settings.CHECKPOINT_KEY} holds no Ed25519 key: put it back from its copy.")
    return key


def origin_of(site: Site) -> str:
    """Whose log it is, such as larkfield-dental/high-street."""
    return f"{slugify(site.organisation.name) or 'practice'}/{site.code}"


def public_key(origin: str) -> str:
    """The key with which checkpoints of this origin are checked, as signed notes write it: NAME+ID+KEY."""
    public = signing_key().public_key().public_bytes_raw()
    return f"{origin}+{key_id(origin, public).hex()}+{base64.b64encode(ED25519 + public).decode()}"


def head(site: Site) -> LogHead:
    """The head of the site's log now, from the peaks on its row: its cost does not grow with the log."""
    size, peaks = Site.objects.values_list("last_position", "peaks").get(pk=site.pk)
    return LogHead(size, head_of([bytes.fromhex(peak) for peak in peaks.split()]), origin_of(site))


def in_words(head: LogHead) -> str:
    """SIZE:HEAD, as paper prints it and `seals check --against` takes it."""
    return f"{head.size}:{head.root.hex()}"


def checking_command(site: Site, held: LogHead) -> str:
    """What paper prints: it holds the log of a later day against this head."""
    return f"manage.py seals check --site {site.code} --against {in_words(held)}"


def checkpoint(site: Site) -> str:
    """The head of the site's log now as a signed note."""
    return signed(head(site))


def signed(head: LogHead) -> str:
    text = f"{head.origin}\n{head.size}\n{base64.b64encode(head.root).decode()}\n"
    key = signing_key()
    id = key_id(head.origin, key.public_key().public_bytes_raw())
    code = base64.b64encode(id + key.sign(text.encode())).decode()
    return f"{text}\n{SIGNATURE_DASH} {head.origin} {code}\n"


def our_own(note: str, also: Iterable[str] = ()) -> LogHead:
    """The head in a checkpoint of this register. Fails where neither its key, a former one, nor one of `also` signed it."""
    origin = read_head(opened(note, None)).origin
    keys = [read_key(text) for text in dict.fromkeys([*known_keys(origin, also)])]
    wrong = Fails(f"There is no key of {origin} here to check it with: give its public key.")
    for key in keys:
        try:
            return read_head(opened(note, key))
        except Fails as fails:
            wrong = fails
    raise wrong


def known_keys(origin: str, also: Iterable[str] = ()) -> list[str]:
    """Public keys of that log: today's, those it had before the register moved to another key, and `also`."""
    former = former_keys()
    own = [] if not settings.CHECKPOINT_KEY.exists() and (also or former) else [public_key(origin)]
    return own + [text for text in (*former, *also) if text.strip().startswith(f"{origin}+")]


def former_keys() -> list[str]:
    place = settings.CHECKPOINT_KEY.with_name(FORMER)
    return place.read_text(encoding="utf-8").split() if place.exists() else []


def keep_former(keys: Iterable[str]) -> None:
    """After a restore where the signing key was lost with its computer: a new one signs from here, the old ones still open."""
    unknown = [key for key in keys if key not in former_keys() and public_key(key.partition("+")[0]) != key]
    if unknown:
        with settings.CHECKPOINT_KEY.with_name(FORMER).open("a", encoding="utf-8") as out:
            out.writelines(f"{key}\n" for key in unknown)


# ── the log as it stands in the database


def leaves(site: Site) -> list[bytes]:
    """The leaves of the site's tree in order: its links. One that is no digest any more stands as nothing."""
    rows = Seal.objects.of_site(site).values_list("digest", flat=True)
    return [bytes.fromhex(link) if is_digest(link) else b"" for link in rows.iterator()]


def extends(log: Sequence[bytes], held: LogHead) -> str:
    """Why the log does not begin with the one that was held, in words; empty where it does."""
    if held.size > len(log):
        gone = held.size - len(log)
        return f"the log has {len(log)} seals, and the checkpoint was over {held.size}: {gone} are missing from its end"
    if root(log[: held.size]) != held.root:
        return f"the first {held.size} seals are not those that the checkpoint was over"
    return ""


def proof_of(log: Sequence[bytes], held: LogHead) -> list[str]:
    """The consistency proof from the held head to the log's. ValueError where the log is shorter."""
    return [node.hex() for node in consistency(log, held.size)]


# ── the places outside the database


@dataclass(frozen=True, slots=True)
class KeptCheckpoint:
    """A checkpoint in a folder outside the database."""

    place: Path
    note: str
    site: str


def places() -> list[Path]:
    """Where checkpoints go: the register's own folder, and the further places that were named."""
    return [settings.CHECKPOINTS_DIR, *settings.CHECKPOINT_PLACES]


def write(site: Site, note: str, folder: Path) -> Path:
    """The checkpoint as a file of its own below the folder: site, then size."""
    place = folder / site.code / f"{read_head(opened(note, None)).size:010d}.txt"
    place.parent.mkdir(parents=True, exist_ok=True)
    aside = place.with_suffix(f".{os.getpid()}")
    aside.write_text(note, encoding="utf-8")
    aside.replace(place)
    return place


def write_everywhere(site: Site, note: str) -> list[str]:
    """To every place. Returns what could not be written, in words: one lost disk keeps nothing from the others."""
    failed = []
    for folder in places():
        try:
            write(site, note, folder)
        except OSError as wrong:
            failed.append(f"{folder}: {wrong.strerror or wrong}")
    return failed


def kept_of(site: Site) -> Iterator[KeptCheckpoint]:
    return (each for each in all_kept() if each.site == site.code)


def all_kept(also: Iterable[Path] = ()) -> Iterator[KeptCheckpoint]:
    """Every checkpoint in the places and beside the copies of the register; `also`: further folders of copies."""
    for folder in places():
        for place in sorted(folder.glob("*/*.txt")):
            yield KeptCheckpoint(place, place.read_text(encoding="utf-8", errors="replace"), place.parent.name)
    for folder in dict.fromkeys([*([settings.BACKUP_DIR] if settings.BACKUP_DIR else []), *also]):
        for place in sorted(folder.glob(f"*{HEADS}")):
            yield from (KeptCheckpoint(place, note, site) for site, note in heads_in(place).items())


def heads_in(place: Path) -> dict[str, str]:
    """The notes beside a copy by site; one that cannot be read at all stands for a note that cannot."""
    try:
        found = json.loads(place.read_text(encoding="utf-8"))
        return {str(site): str(note) for site, note in found.items()}
    except (ValueError, AttributeError):
        return {"": "unreadable"}


def set_aside(site: str, beyond: int, also: Iterable[Path] = ()) -> int:
    """Once it was said openly that what lay beyond is lost: heads of the site over more seals no longer count, and are kept
    below `superseded`. Returns how many."""
    past = [each for each in all_kept(also) if each.site == site and read_head(opened(each.note, None)).size > beyond]
    for each in past:
        beside = each.place.name.endswith(HEADS)
        aside = (each.place.parent if beside else each.place.parents[1]) / "superseded" / site / each.place.name
        aside.parent.mkdir(parents=True, exist_ok=True)
        aside.with_suffix(".txt").write_text(each.note, encoding="utf-8")
        left = {other: note for other, note in heads_in(each.place).items() if other != site} if beside else {}
        if left:
            each.place.write_text(json.dumps(left, indent=1), encoding="utf-8")
        else:
            each.place.unlink()
    return len(past)


def kept_heads(site: Site) -> Iterable[Break]:
    """Every kept checkpoint of the site against the log as it stands: a part of the check of the seals."""
    kept = list(kept_of(site))
    log = leaves(site) if kept else []
    for each in kept:
        try:
            says = extends(log, our_own(each.note))
        except Fails as wrong:
            says = f"it cannot be relied on. {wrong}"
        if says:
            yield Break(0, "clinic.site", str(site.pk), f"checkpoint {each.place}: {says}", "checkpoints")


def heads_of_no_site() -> Iterable[Break]:
    """Checkpoints of a site that is not here: a site that was deleted with everything that named it."""
    here = set(Site.objects.values_list("code", flat=True))
    for each in all_kept():
        if each.site not in here:
            says = f"checkpoint {each.place}: there is no site {each.site} here"
            yield Break(0, "clinic.site", each.site, says, "checkpoints")
