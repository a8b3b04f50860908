"""Checks what a register says of its own log, without its database, and without the register.

    python verify.py PROOF [--file CERTIFICATE.pdf [--cut ISSUED.pdf]] [--key KEY] [--held CHECKPOINT] ...

This one file needs Python and the package `cryptography`, and imports nothing else: copy it to any computer. PROOF is what
`manage.py seals prove` writes. KEY is the public key of the log, as `manage.py seals key` prints it and the binder shows
it. CHECKPOINT is what somebody held: a file with a signed checkpoint, or SIZE:HEAD as a certificate or a binder prints it.

What it can show:
  --key    that the newest checkpoint in the proof was signed with the key that you were given before
  --file   that a file is, byte for byte, one whose digest stands in a sealed fact of that log. One that was handed over signed is
           longer: what a reader shows may come from what was added. --cut writes the part that was issued, to be read instead
  --held   that the log of the newest checkpoint begins with the log that you held a checkpoint of, unchanged, in order
It never shows that what was recorded is true, or that everything was recorded.

Formats and rules: Merkle trees and their proofs by RFC 9162, 2.1; signed notes and checkpoints by the open formats
signed-note and tlog-checkpoint; Ed25519 by RFC 8032; SHA-256 by FIPS 180-4.

exit codes: 0 everything that was asked holds · 1 something does not · 2 the arguments are wrong
"""

import argparse
import base64
import binascii
import json
import re
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

ED25519 = b"\x01"  # of a signed note: the signature type
MOST_SIGNATURES = 100


class Fails(Exception):
    """Something that was claimed does not hold, or cannot be read. In words."""


@dataclass(frozen=True, slots=True)
class LogHead:
    """The state of a log: how many leaves it had, and the root over them. `origin` is empty where it was typed from paper."""

    size: int
    root: bytes
    origin: str = ""


@dataclass(frozen=True, slots=True)
class NoteKey:
    """A public key of a signed note: whose, its id, and the 32 bytes of Ed25519."""

    name: str
    id: bytes
    public: bytes


def key_id(name: str, public: bytes) -> bytes:
    """The first four bytes of SHA-256 over name, newline, signature type and public key."""
    return sha256(name.encode() + b"\n" + ED25519 + public).digest()[:4]


def read_key(text: str) -> NoteKey:
    """NAME+ID+KEY, as signed notes write a public key. Fails where its parts do not fit each other."""
    name, _, rest = text.strip().partition("+")
    id_text, _, key_text = rest.partition("+")
    try:
        data, given = base64.b64decode(key_text, validate=True), bytes.fromhex(id_text)
    except ValueError:
        raise Fails("That is no public key: it reads NAME+EIGHT HEX DIGITS+BASE64.") from None
    if len(data) != 33 or data[:1] != ED25519 or given != key_id(name, data[1:]):
        raise Fails("That public key is damaged: its id is not that of its name and bytes.")
    return NoteKey(name, given, data[1:])


def opened(note: str, key: NoteKey | None) -> str:
    """The text of a signed note; with a key, only if that key signed it. Fails otherwise."""
    text, signatures = parts_of(note)
    if key is None:
        return text
    mine = [signed for name, id, signed in signatures if (name, id) == (key.name, key.id)]
    if not mine:
        raise Fails(f"The checkpoint bears no signature of {key.name} by the key {key.id.hex()}.")
    for signed in mine:
        try:
            Ed25519PublicKey.from_public_bytes(key.public).verify(signed, text.encode())
        except InvalidSignature:
            raise Fails(f"The signature of {key.name} is not that of this checkpoint.") from None
    return text


def parts_of(note: str) -> tuple[str, list[tuple[str, bytes, bytes]]]:
    """The text with its last newline, and each signature as name, key id and bytes."""
    text, blank, below = note.replace("\r\n", "\n").rpartition("\n\n")
    lines = below.strip("\n").split("\n")
    if not blank or not text or any(ord(char) < 32 and char != "\n" for char in note.replace("\r\n", "\n")):
        raise Fails("That is no signed note: text, an empty line, then signatures.")
    if len(lines) > MOST_SIGNATURES:
        raise Fails(f"That note bears more than {MOST_SIGNATURES} signatures.")
    return text + "\n", [signature_of(line) for line in lines]


def signature_of(line: str) -> tuple[str, bytes, bytes]:
    dash, name, code = (*line.split(" "), "", "", "")[:3]
    try:
        data = base64.b64decode(code, validate=True)
    except (ValueError, binascii.Error):
        data = b""
    if dash != "\u2014" or not name or "+" in name or len(data) < 5 or line.count(" ") != 2:
        raise Fails("That is no signed note: a line below the text is no signature.")
    return name, data[:4], data[4:]


def read_head(text: str) -> LogHead:
    """The three lines of a checkpoint: origin, size, root in Base64."""
    origin, size, root, *_ = (*text.split("\n"), "", "", "")
    try:
        found = base64.b64decode(root, validate=True)
    except (ValueError, binascii.Error):
        found = b""
    if not origin or not is_number(size) or len(found) != 32:
        raise Fails("That is no checkpoint: it reads origin, size and root, each on a line.")
    return LogHead(int(size), found, origin)


def is_number(text: str) -> bool:
    return text.isascii() and text.isdigit() and (text == "0" or text[0] != "0") and len(text) < 19


def typed_head(words: str) -> LogHead | None:
    """SIZE:HEAD as paper prints it, in hex or Base64, spaces and line ends left out; None where it is not written so."""
    size, colon, code = "".join(words.split()).partition(":")
    if not colon or not is_number(size):
        return None
    try:
        root = bytes.fromhex(code) if len(code) == 64 else base64.b64decode(code, validate=True)
    except (ValueError, binascii.Error):
        root = b""
    if len(root) != 32:
        raise Fails(f"{words!r} holds no head: write SIZE:HEAD, the head with all of its 64 characters.")
    return LogHead(int(size), root)


def held_head(words: str, key: NoteKey | None) -> LogHead:
    """What somebody held: SIZE:HEAD, or the name of a file with a checkpoint, whose signature is then checked too."""
    typed = typed_head(words)
    if typed is not None:
        return typed
    try:
        note = Path(words).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as wrong:
        raise Fails(f"{words} cannot be read as a checkpoint: {wrong}.") from None
    return read_head(opened(note, key))


def is_checkpoint_of(head: LogHead, log: str) -> bool:
    """Whether the head may be of the log of that short name: its origin ends with it, or it was typed and has none."""
    return not head.origin or head.origin.rpartition("/")[2] == log


def leaf_hash(data: bytes) -> bytes:
    return sha256(b"\x00" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    return sha256(b"\x01" + left + right).digest()


def root_by_inclusion(index: int, size: int, data: bytes, path: Sequence[bytes]) -> bytes:
    """The root that the path leads to from this leaf (RFC 9162, 2.1.3.2). Fails where the path is too long or too short."""
    if not 0 <= index < size:
        raise Fails(f"Place {index + 1} does not exist in a log of {size}.")
    at, last, node = index, size - 1, leaf_hash(data)
    for beside in path:
        if last == 0:
            raise Fails("The path to the head is too long.")
        if at & 1 or at == last:
            node = node_hash(beside, node)
            while not at & 1 and at:
                at, last = at >> 1, last >> 1
        else:
            node = node_hash(node, beside)
        at, last = at >> 1, last >> 1
    if last:
        raise Fails("The path to the head is too short.")
    return node


def extends(later: LogHead, earlier: LogHead, path: Sequence[bytes]) -> bool:
    """Whether the later tree begins with the earlier one (RFC 9162, 2.1.4.2)."""
    if earlier.size > later.size:
        return False
    if earlier.size == later.size:
        return earlier.root == later.root and not path
    if earlier.size == 0:
        return earlier.root == sha256(b"").digest() and not path
    hashes = [earlier.root, *path] if earlier.size & (earlier.size - 1) == 0 else list(path)
    if not hashes:
        return False
    at, last = earlier.size - 1, later.size - 1
    while at & 1:
        at, last = at >> 1, last >> 1
    old = new = hashes[0]
    for beside in hashes[1:]:
        if last == 0:
            return False
        if at & 1 or at == last:
            old, new = node_hash(beside, old), node_hash(beside, new)
            while not at & 1 and at:
                at, last = at >> 1, last >> 1
        else:
            new = node_hash(new, beside)
        at, last = at >> 1, last >> 1
    return last == 0 and (old, new) == (earlier.root, later.root)


def check_entry(entry: Any, head: LogHead) -> dict[str, Any]:
    """The content of a sealed fact, once it is shown that its seal stands in the tree of this head. Fails otherwise."""
    link, content = entry["link"].encode(), entry["content"].encode()
    bound = json.loads(link)
    if bound[-1] != sha256(content).hexdigest():
        raise Fails("The content in the proof is not what its seal covers.")
    path = [bytes.fromhex(each) for each in entry["path"]]
    root = root_by_inclusion(bound[2] - 1, head.size, sha256(link).digest(), path)
    if root != head.root:
        raise Fails("The seal does not stand in the log of this checkpoint.")
    return {"position": bound[2], **json.loads(content)}


def parts(data: bytes) -> Iterator[tuple[int, str]]:
    """Where a PDF may end, each time something was added to it (ISO 32000-1, 7.5.6), and the digest of all up to there."""
    so_far, start = sha256(), 0
    for found in re.finditer(rb"%%EOF\n", data):
        so_far.update(data[start : found.end()])
        start = found.end()
        yield start, so_far.hexdigest()


def checked_file(path: Path, content: dict[str, Any], cut: Path | None = None) -> str:
    data, number = path.read_bytes(), content.get("number")
    found = sha256(data).hexdigest()
    held = f"a sealed fact at place {content['position']} of this log holds its digest."
    if content.get("file_digest") == found:
        return f"{path} is byte for byte the file that was issued as {number}; {held}"
    end = next((end for end, digest in parts(data) if digest == content.get("file_digest")), 0)
    if not end:
        raise Fails(f"{path} is not the file that was issued: its digest is {found}.")
    if cut is None:
        raise Fails(longer(path, end, str(number), len(data)))
    cut.write_bytes(data[:end])
    return f"{cut} holds the first {end} bytes of {path}, which are the file that was issued as {number}; {held}"


def longer(path: Path, end: int, number: str, size: int) -> str:
    return (
        f"{path} is longer than the file that was issued as {number}: that is its first {end} bytes, and what stands "
        f"behind them ({size - end}) was added, by who signed it or by anybody else. A reader may show what was added: cut the "
        "first part out (--cut of verify.py), and read that."
    )


def checked_held(words: str, held: LogHead, proof: Any, head: LogHead) -> str:
    if held.origin and held.origin != head.origin:
        raise Fails(f"{words} is of another log, {held.origin}, and not of {head.origin}.")
    paths = proof.get("consistency", {})
    path = [bytes.fromhex(each) for each in paths.get(str(held.size), [])]
    if not extends(head, held, path):
        none = held.size < head.size and str(held.size) not in paths
        raise Fails(
            f"The proof holds nothing about a log of {held.size}: ask for one made with it."
            if none
            else f"The log of {head.size} does not begin with the log of {held.size} that was held."
        )
    return f"The log of {head.size} begins with the log of {held.size} that was held: nothing in it was changed, removed or moved."


def check(
    proof: Any, *, key: str = "", file: Path | None = None, cut: Path | None = None, held: Sequence[str] = ()
) -> list[str]:
    """What holds, a sentence each. Fails at the first that does not."""
    known = read_key(key) if key else None
    head = read_head(opened(proof["checkpoint"], known))
    says = [
        f"The checkpoint of {head.origin} over {head.size} seals was signed with the key {known.id.hex()}."
        if known
        else "No key was given: nothing shows who signed the checkpoint in this proof."
    ]
    if file is not None and "entry" not in proof:
        raise Fails("The proof is about no file: ask for one made with it.")
    if "entry" in proof:
        content = check_entry(proof["entry"], head)
        says.append(
            checked_file(file, content, cut) if file else f"The seal at place {content['position']} stands in this log."
        )
    return says + [checked_held(words, held_head(words, known), proof, head) for words in held]


def main(arguments: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("proof", type=Path, metavar="PROOF")
    parser.add_argument("--file", type=Path, help="the certificate or binder that the proof is about")
    parser.add_argument("--cut", type=Path, help="where the part of that file goes that was issued")
    parser.add_argument("--key", default="", help="public key of the log")
    parser.add_argument("--held", action="append", default=[], help="a checkpoint that was held; may be given again")
    given = parser.parse_args(arguments)
    try:
        proof = json.loads(given.proof.read_text(encoding="utf-8"))
        says = check(proof, key=given.key, file=given.file, cut=given.cut, held=given.held)
    except (Fails, OSError, UnicodeDecodeError) as wrong:
        print(f"DOES NOT HOLD: {wrong}")
        return 1
    except (KeyError, IndexError, TypeError, ValueError, AttributeError) as wrong:
        print(f"DOES NOT HOLD: the proof cannot be read ({type(wrong).__name__}: {wrong}).")
        return 1
    print("\n".join(says))
    return 0


if __name__ == "__main__":
    sys.exit(main())
