"""The evidence pack of a binder: the same records as tables and as lines, pictures, the log, and two programs that check all of
it by themselves. What is confidential (injuries, with names) is left out, and said to be.

The same binder over the same log gives the same bytes: every file bears the instant of the issue.
"""

import csv
import io
import json
from collections.abc import Callable, Iterable, Iterator
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Any, BinaryIO
from uuid import UUID
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from clinic import verify
from clinic.checkpoints import head, leaves, public_key, signed
from clinic.models import EntryPhoto, Fact, Seal, Site
from clinic.rules.seal import canonical, link_text
from clinic.rules.words import counted
from clinic.seals import check_site, facts_of
from training import check_pack
from training.models import Issue, PlacePhoto, SheetPhoto
from training.papers import paper
from training.proofs import proof
from training.reads.audit_facts import CONFIDENTIAL

BATCH = 500
README = """Evidence pack of binder {number}: {organisation}, {site}, {first} to {last}

What is in it
  binder.pdf, binder.json   the binder as it was issued, and everything it says as plain data (RFC 8785)
  records.jsonl             each record that the binder rests on, a line each: what it says, and its seal
  tables/                   the same records as tables, a file for each kind (UTF-8, comma separated)
  pictures/                 photos of entries and sheets, and of the place as it was shown, by the id of their record
  log.txt                   every seal of the site's log, in order
  checkpoint.txt            the signed head of that log
  seals.txt                 what the register found when it checked every seal for this pack
  manifest.json             SHA-256 of every other file
  proof.json                that binder.pdf stands in the log, for verify.py

{says}

How to check it, on any computer with Python 3.11, without the register and without the network
  1. Unpack it, open a terminal in its folder, and run:  python check.py
     It says “Everything holds.”, or names each thing that does not.
  2. Who signed the head: take the key from a paper of the register that you had before, such as an earlier binder, and run
     (with the package cryptography):  python verify.py proof.json --file binder.pdf --key KEY
     The key that the register gives today:  {key}

What no check can show: that what was recorded is true, or that everything was recorded. A record is no licence.
"""


def write_pack(issue: Issue, out: BinaryIO, tell: Callable[[str], None] = lambda name: None) -> None:
    """The ZIP, written to `out`; `tell` hears of each file before it is packed. Raises `papers.Differs` and `proofs.Unproved` where what was issued cannot be had or proved."""
    made: dict[str, str] = {}
    with ZipFile(out, "w", ZIP_DEFLATED) as archive:

        def add(name: str, data: bytes | str) -> None:
            content = data.encode() if isinstance(data, str) else data
            made[name] = sha256(content).hexdigest()
            info = ZipInfo(name, issue.recorded_at.timetuple()[:6])
            info.compress_type, info.external_attr = ZIP_DEFLATED, 0o600 << 16
            archive.writestr(info, content)

        for name, data in contents(issue):
            tell(name)
            add(name, data)
        add("manifest.json", json.dumps(made, indent=1, sort_keys=True))


def contents(issue: Issue) -> Iterator[tuple[str, bytes | str]]:
    """Every file but the manifest. The head is read once: what is recorded meanwhile is not in it."""
    site, now = issue.site, head(issue.site)
    log = leaves(site)[: now.size]
    rows = list(records(issue, now.size))
    yield "binder.pdf", paper(issue)
    yield "binder.json", canonical(issue.frozen)
    yield "records.jsonl", "".join(json.dumps(row, ensure_ascii=False) + "\n" for row in rows)
    yield from tables(rows)
    yield from pictures(issue)
    yield "log.txt", "".join(f"{link.hex()}\n" for link in log)
    yield "checkpoint.txt", signed(now)
    yield "seals.txt", seals_say(site)
    yield "proof.json", json.dumps(proof(site, [], issue), indent=1, ensure_ascii=False)
    yield "check.py", Path(check_pack.__file__).read_bytes()
    yield "verify.py", Path(verify.__file__).read_bytes()
    yield "README.txt", readme(issue, len(rows), public_key(now.origin))


def records(issue: Issue, size: int) -> Iterator[dict[str, Any]]:
    """What the binder rests on, its pictures and the issue itself, in the order of the log."""
    asked = {*issue.frozen["facts"], str(issue.pk), *(str(row.pk) for row in photos(issue))}
    seals = (
        Seal.objects.select_related("shape").filter(site=issue.site, position__lte=size).exclude(kind__in=CONFIDENTIAL)
    )
    for batch in batches(sorted(asked)):
        named = list(seals.filter(fact__in=batch).exclude(corrects__in=confidential(issue.site)))
        found = facts_of(named)
        yield from (record_of(seal, found[seal.fact]) for seal in named if seal.fact in found)


def confidential(site: Site) -> Any:
    return Seal.objects.filter(site=site, kind__in=CONFIDENTIAL).values("fact")


def batches(ids: list[str]) -> Iterator[list[str]]:
    yield from (ids[start : start + BATCH] for start in range(0, len(ids), BATCH))


def record_of(seal: Seal, fact: Fact) -> dict[str, Any]:
    return {
        "id": str(seal.fact),
        "kind": seal.kind,
        "position": seal.position,
        "link": link_text(seal.sealed, seal.form).decode(),
        "content": canonical(fact.sealed_content(seal.shape.covers)).decode(),
    }


def tables(rows: Iterable[dict[str, Any]]) -> Iterator[tuple[str, str]]:
    by_kind: dict[str, list[dict[str, str]]] = {}
    for row in rows:
        by_kind.setdefault(row["kind"], []).append(check_pack.cells(row))
    for kind, lines in sorted(by_kind.items()):
        out = io.StringIO(newline="")
        table = csv.DictWriter(out, list(dict.fromkeys(name for line in lines for name in line)))
        table.writeheader()
        table.writerows(lines)
        yield f"tables/{kind}.csv", "\ufeff" + out.getvalue()


def photos(issue: Issue) -> list[EntryPhoto | PlacePhoto | SheetPhoto]:
    """Of the entries and sheets that the binder rests on, and of the place as it was shown on its last day; without the
    pictures themselves."""
    facts, last = issue.frozen["facts"], date.fromisoformat(issue.frozen["content"]["last"])
    found: list[EntryPhoto | PlacePhoto | SheetPhoto] = list(shown_on(issue, last))
    for batch in batches(sorted(facts)):
        found += EntryPhoto.objects.filter(entry__in=ids_of(batch), site=issue.site).defer("picture")
        found += SheetPhoto.objects.filter(sheet__in=ids_of(batch), site=issue.site).defer("picture")
    return found


def shown_on(issue: Issue, day: date) -> Iterable[PlacePhoto]:
    """The newest photo of each answer and each step, at each unit, that was recorded when the binder was issued and stands."""
    rows = PlacePhoto.objects.live().filter(site=issue.site, happened_on__lte=day, recorded_at__lte=issue.recorded_at)
    beside = ("site_fact_id", "procedure_id", "step", "equipment_id")
    return {tuple(getattr(row, name) for name in beside): row for row in rows.defer("picture").in_order()}.values()


def ids_of(batch: list[str]) -> list[UUID]:
    return [UUID(each) for each in batch]


def pictures(issue: Issue) -> Iterator[tuple[str, bytes]]:
    """Each read from the database when it is written: no two are held at once."""
    for row in photos(issue):
        yield f"pictures/{row.pk}.jpg", bytes(row.picture)


def seals_say(site: Site) -> str:
    breaks = check_site(site)
    lines = [f"{each.position} {each.kind} {each.fact}: {each.says}" for each in breaks]
    return "\n".join(lines or ["Every seal holds."]) + "\n"


def readme(issue: Issue, count: int, key: str) -> str:
    content = issue.frozen["content"]
    left_out = (
        len(set(issue.frozen["facts"]))
        - Seal.objects.filter(fact__in=issue.frozen["facts"])
        .exclude(kind__in=CONFIDENTIAL)
        .exclude(corrects__in=confidential(issue.site))
        .count()
    )
    says = f"It holds {counted(count, 'record')}. " + (
        f"{counted(left_out, 'record')} about injuries and near misses, or what put one right, {'is' if left_out == 1 else 'are'} "
        "left out: they name people, and are read in the register by whoever may."
        if left_out
        else "No record that the binder rests on is left out."
    )
    return README.format(
        number=issue.number, organisation=content["organisation"], site=content["site"], first=content["first"],
        last=content["last"], says=says, key=key,
    )  # fmt: skip
