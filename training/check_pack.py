"""Checks an evidence pack by itself: without the register, its database or the network, on any computer with Python.

    python check.py            in the folder of the unpacked pack

It shows that every file is the one that the manifest names; that each record says what its seal covers, and that its seal
stands in the log; that the log is the one whose head was signed; that the tables and pictures are those of the records; and that
the PDF is the one that was issued. Who signed the head is shown by verify.py, with a key that was given to you before.
It never shows that what was recorded is true, or that everything was recorded.

exit codes: 0 everything holds · 1 something does not (each fault is printed)
"""

import base64
import csv
import json
import sys
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any

HEAD = ("id", "kind", "position")
Records = dict[str, dict[str, Any]]


def faults(folder: Path) -> Iterator[str]:
    """Everything that does not hold, a sentence each."""
    yield from files(folder)
    log = (folder / "log.txt").read_text(encoding="utf-8").split()
    yield from heads(folder, log)
    records: Records = {}
    for line in (folder / "records.jsonl").read_text(encoding="utf-8").splitlines():
        row = json.loads(line)
        records[row["id"]] = row
        yield from sealed(row, log)
    yield from tables(folder, records)
    yield from pictures(folder, records)
    yield from paper(folder, records)


def files(folder: Path) -> Iterator[str]:
    """Against the manifest: nothing changed, missing, or put in beside."""
    named = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    there = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()} - {"manifest.json"}
    for name in sorted(there ^ set(named)):
        yield f"{name}: {'it is missing' if name in named else 'it is not in the manifest'}"
    for name in sorted(there & set(named)):
        if sha256((folder / name).read_bytes()).hexdigest() != named[name]:
            yield f"{name}: it is not the file that the manifest names"


def heads(folder: Path, log: list[str]) -> Iterator[str]:
    """The signed head: whose log, how many seals, and the root over them (RFC 9162, 2.1)."""
    _, size, root, *_ = (folder / "checkpoint.txt").read_text(encoding="utf-8").split("\n")
    if int(size) != len(log) or base64.b64encode(root_of([bytes.fromhex(link) for link in log])).decode() != root:
        yield "log.txt: it is not the log whose head was signed in checkpoint.txt"


def root_of(leaves: list[bytes]) -> bytes:
    if not leaves:
        return sha256(b"").digest()
    level = [sha256(b"\x00" + leaf).digest() for leaf in leaves]
    while len(level) > 1:
        paired = [sha256(b"\x01" + a + b).digest() for a, b in zip(level[::2], level[1::2], strict=False)]
        level = paired + level[len(paired) * 2 :]  # an odd last one goes up as it is
    return level[0]


def sealed(row: dict[str, Any], log: list[str]) -> Iterator[str]:
    """What the record says is what its seal covers, and the seal stands at its place in the log."""
    link, content = row["link"].encode(), row["content"].encode()
    bound = json.loads(link)
    if sha256(content).hexdigest() != bound[-1]:
        yield f"record {row['id']}: it does not say what its seal covers"
    if [bound[2], bound[4], bound[5]] != [row["position"], row["kind"], row["id"]]:
        yield f"record {row['id']}: its seal is of another record"
    if not 0 < row["position"] <= len(log) or sha256(link).hexdigest() != log[row["position"] - 1]:
        yield f"record {row['id']}: its seal does not stand in the log"


def tables(folder: Path, records: Records) -> Iterator[str]:
    """Each line of a table says what its record says, and no record is left out of its table."""
    seen: set[str] = set()
    for table in sorted((folder / "tables").glob("*.csv")):
        with table.open(encoding="utf-8-sig", newline="") as lines:
            for line in csv.DictReader(lines):
                row = records.get(line["id"])
                if row is None or line != cells(row):
                    yield f"{table.name}: the line of {line['id']} is not what its record says"
                seen.add(line["id"])
    yield from (f"record {id}: it stands in no table" for id in sorted(set(records) - seen))


def cells(row: dict[str, Any]) -> dict[str, str]:
    """The line of a record: text that no spreadsheet takes for a formula."""
    said = json.loads(row["content"])
    own = {name: said[name] for name in said if name not in HEAD}
    return {name: guarded(value) for name, value in ({name: row[name] for name in HEAD} | own).items()}


def guarded(value: Any) -> str:
    text = "" if value is None else value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def pictures(folder: Path, records: Records) -> Iterator[str]:
    """A picture is the one whose digest stands in its record."""
    for picture in sorted((folder / "pictures").glob("*.jpg")):
        said = json.loads(records[picture.stem]["content"]) if picture.stem in records else {}
        if said.get("picture") != sha256(picture.read_bytes()).hexdigest():
            yield f"{picture.name}: it is not the picture of its record"


def paper(folder: Path, records: Records) -> Iterator[str]:
    """The PDF and its frozen content are those whose digests stand in the record of the issue."""
    issued = [json.loads(row["content"]) for row in records.values() if row["kind"] == "training.issue"]
    for name, column in (("binder.pdf", "file_digest"), ("binder.json", "frozen")):
        if sha256((folder / name).read_bytes()).hexdigest() not in {each[column] for each in issued}:
            yield f"{name}: no record of an issue holds its digest"


def main() -> int:
    try:
        found = list(faults(Path.cwd()))
    except (OSError, ValueError, KeyError, IndexError, TypeError, AttributeError) as wrong:
        print(f"DOES NOT HOLD: the pack cannot be read ({type(wrong).__name__}: {wrong})")
        return 1
    for fault in found:
        print(f"DOES NOT HOLD: {fault}")
    if not found:
        print(
            "Everything holds. Whether the head in checkpoint.txt is the register's: python verify.py (see README.txt)."
        )
    return int(bool(found))


if __name__ == "__main__":
    sys.exit(main())
