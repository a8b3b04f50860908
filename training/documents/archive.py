"""The last hand on a document: what a file needs so that everyone can read it, and still can in decades.

Built to the rules of PDF/A-2 (ISO 19005-2, level A) and PDF/UA-1 (ISO 14289-1); no body has certified it. `made` is the
instant that the content says it was made, without a zone, as the site's clock showed it; empty where it says none.

The file is put together here, from the objects that the drawing library wrote and those of the structure: reading it all into
another library and writing it again took as long as the drawing itself.
"""

import re
from array import array
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from hashlib import md5
from itertools import accumulate, islice
from struct import Struct
from typing import BinaryIO
from xml.sax.saxutils import escape
from zlib import compress, compressobj

from PIL import ImageCms

from .strings import text_string

MAKER = "Millroom Register"
COLOURS = "sRGB IEC61966-2.1"
HEAD = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"
LONG = 2**20
PACKED = 200  # objects in one stream
# Of compression, by the way of packing that the content of a paper names: what was issued in one way is drawn again in it.
# The second takes a third of the time, for a file that is an eighth larger.
LEVELS = (6, 2)
PLACE = Struct(">BIH")  # kind, where, which in its stream: an entry of the table of objects
WHICH = [n.to_bytes(2, "big") for n in range(PACKED)]
PACKET = (
    '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?><x:xmpmeta xmlns:x="adobe:ns:meta/">'
    '<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
    '<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/" '
    'xmlns:pdf="http://ns.adobe.com/pdf/1.3/" xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/" '
    'xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/">'
    '<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>'
    '<dc:description><rdf:Alt><rdf:li xml:lang="x-default">{subject}</rdf:li></rdf:Alt></dc:description>'
    "<dc:creator><rdf:Seq><rdf:li>{maker}</rdf:li></rdf:Seq></dc:creator>"
    "<dc:language><rdf:Bag><rdf:li>{language}</rdf:li></rdf:Bag></dc:language>"
    "<xmp:CreatorTool>{maker}</xmp:CreatorTool><pdf:Producer>{maker}</pdf:Producer>{dates}"
    "<pdfaid:part>2</pdfaid:part><pdfaid:conformance>A</pdfaid:conformance><pdfuaid:part>1</pdfuaid:part>"
    "</rdf:Description>{extension}</rdf:RDF></x:xmpmeta>"
    '<?xpacket end="r"?>'
)
DATES = "<xmp:CreateDate>{0}</xmp:CreateDate><xmp:ModifyDate>{0}</xmp:ModifyDate>"
# PDF/A-2 asks that a schema which it does not name describes itself (ISO 19005-2, 6.6.2.3.3).
EXTENSION = (
    '<rdf:Description rdf:about="" xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/" '
    'xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#" xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#">'
    '<pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource"><pdfaSchema:schema>PDF/UA identification schema'
    "</pdfaSchema:schema><pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>"
    '<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix><pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource">'
    "<pdfaProperty:name>part</pdfaProperty:name><pdfaProperty:valueType>Integer</pdfaProperty:valueType>"
    "<pdfaProperty:category>internal</pdfaProperty:category><pdfaProperty:description>part of ISO 14289"
    "</pdfaProperty:description></rdf:li></rdf:Seq></pdfaSchema:property></rdf:li></rdf:Bag></pdfaExtension:schemas>"
    "</rdf:Description>"
)


@dataclass(frozen=True, slots=True)
class About:
    """What a file says of itself."""

    title: str
    subject: str
    language: str
    made: str = ""


Object = tuple[int, bytes | str]  # as text where it was put together here


@dataclass(frozen=True, slots=True)
class Drawn:
    """What the drawing library writes, one object after the other by number, one that has a stream whole; and the numbers
    of two of them: `catalog` waits for what is numbered after all others, `info` is said anew."""

    objects: Iterator[Object]
    catalog: int
    info: int


@dataclass(frozen=True, slots=True)
class Parts:
    """What is added to a drawn file. `entries`: further entries of its objects by number; `count`: how many objects its
    structure has, root first; `objects`: these, given the number of the first."""

    entries: Mapping[int, str]
    count: int
    objects: Callable[[int], Iterable[str]]


@cache
def colours() -> bytes:
    """The profile by which its colours are meant; its day of making is left out, so that it is the same each time."""
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    profile[24:36] = bytes((7, 208, 0, 1, 0, 1, 0, 0, 0, 0, 0, 0))  # ICC.1, 7.2.8: year 2000, month 1, day 1
    profile[84:100] = bytes(16)  # 7.2.18: a digest of the profile, which may be left out
    return bytes(profile)


def archive(drawn: Drawn, added: Parts, about: About, out: BinaryIO, level: int = LEVELS[0]) -> None:
    """Writes the file as it is made: of what was drawn little is held, and of what is written only where it stands."""
    file = File(out, drawn.catalog, level)
    last = 0
    for last, body in drawn.objects:
        if isinstance(body, str):
            file.add(last, extended(body, added.entries[last]) if last in added.entries else body)
        elif body.endswith(ENDS):
            file.stream(last, b"%d 0 obj\n%s\nendstream\nendobj\n" % (last, body[: body.rindex(b"endstream")]))
        elif last != drawn.info:
            file.add(last, body.strip().decode("latin1"))
    structure = last + 1
    number = structure + added.count - 1
    file.stream(number + 1, _stream(number + 1, "/Type/Metadata/Subtype/XML", _packet(about)))
    file.stream(number + 2, _stream(number + 2, "/N 3/Filter/FlateDecode", compress(colours())))
    intent = f"<</Type/OutputIntent/S/GTS_PDFA1/OutputConditionIdentifier({COLOURS})/Info({COLOURS})/DestOutputProfile {number + 2} 0 R>>"
    more = (
        f"/Lang{text_string(about.language)}/MarkInfo<</Marked true>>/Metadata {number + 1} 0 R/OutputIntents[{number + 3} 0 R]"
        f"/StructTreeRoot {structure} 0 R/ViewerPreferences<</DisplayDocTitle true>>"
    )
    file.add_run(structure, added.objects(structure))
    file.add(number + 3, intent)
    file.add(number + 4, _info(about))
    file.extend(drawn.catalog, lambda body: extended(re.sub(r"/Lang \(.*?\)", "", body), more))
    file.close(drawn.catalog, number + 4)


ENDS = (b"endstream", b"endstream\n")


def extended(body: str, more: str) -> str:
    """A dictionary with further entries."""
    return f"{body.rpartition('>>')[0]}{more}>>"


def _stream(number: int, entries: str, held: bytes) -> bytes:
    return b"%d 0 obj\n<</Length %d%s>>\nstream\n%s\nendstream\nendobj\n" % (number, len(held), entries.encode(), held)


@dataclass(slots=True)
class Pack:
    """Objects without a stream, packed into one that has one (ISO 32000-1, 7.5.7). `held`: until it is packed."""

    numbers: "array[int]"
    held: list[str]
    head: int = 0
    packed: bytes = b""

    def pack(self, level: int) -> None:
        begins = accumulate([len(body) + 1 for body in self.held], initial=0)
        head = "".join([f"{number} {begin} " for number, begin in zip(self.numbers, begins, strict=False)]).encode()
        self.head, self.packed, self.held = len(head), compressed(head, self.held, level), []


def compressed(head: bytes, held: list[str], level: int) -> bytes:
    """What is long is not copied once more for it."""
    if sum(map(len, held)) < LONG:
        return compress(head + " ".join(held).encode("latin1"), level)
    packer = compressobj(level)
    parts = [packer.compress(head)]
    for n, body in enumerate(held):
        parts += [packer.compress(b" " if n else b""), packer.compress(body.encode("latin1"))]
    return b"".join([*parts, packer.flush()])


def runs(numbers: Sequence[int]) -> Iterator[tuple[int, int]]:
    """The first of each run of numbers that follow one another, and how many they are. The numbers grow."""
    if numbers[-1] - numbers[0] == len(numbers) - 1:
        yield numbers[0], len(numbers)
        return
    first = before = numbers[0]
    for number in numbers[1:]:
        if number != before + 1:
            yield first, before - first + 1
            first = number
        before = number
    yield first, before - first + 1


class File:
    """A file as it is written. Objects with a stream are written at once; those without are packed, and written once it is
    known how many objects there are: their packs are numbered after all others. `waits_for`: the object that is not packed
    before the end. `level`: of compression."""

    def __init__(self, out: BinaryIO, waits_for: int, level: int) -> None:
        self.out, self.at, self.waits_for, self.level = out, 0, waits_for, level
        self.named = md5(usedforsecurity=False)
        self.places = {0: b""}
        self.packs = [Pack(array("I"), [])]
        self.write(HEAD)

    def write(self, part: bytes) -> None:
        """What stands before the table, and so names the file."""
        self.named.update(part)
        self.at += self.out.write(part)

    def stream(self, number: int, whole: bytes) -> None:
        self.places[number] = PLACE.pack(1, self.at, 0)
        self.write(whole)

    def add(self, number: int, body: str) -> None:
        """An object without a stream. They come in the order of their numbers."""
        pack = self._with_room()
        pack.numbers.append(number)
        pack.held.append(body)

    def add_run(self, number: int, bodies: Iterable[str]) -> None:
        """Objects without a stream, numbered on from that one."""
        rest = iter(bodies)
        while more := list(islice(rest, PACKED - len((pack := self._with_room()).held))):
            pack.numbers.extend(range(number, number + len(more)))
            pack.held += more
            number += len(more)

    def _with_room(self) -> Pack:
        pack = self.packs[-1]
        if len(pack.numbers) == PACKED:
            if self.waits_for not in pack.numbers:
                pack.pack(self.level)
            self.packs.append(pack := Pack(array("I"), []))
        return pack

    def extend(self, number: int, change: Callable[[str], str]) -> None:
        """Changes the object that waited."""
        pack = next(pack for pack in self.packs if number in pack.numbers)
        at = pack.numbers.index(number)
        pack.held[at] = change(pack.held[at])

    def close(self, root: int, last: int) -> None:
        """Writes the packs, numbered on from the last object, and the table that says where each object stands (7.5.8)."""
        entries = bytearray(7 * (last + len(self.packs) + 2))
        entries[:7] = b"\0\0\0\0\0\xff\xff"
        for number, place in self.places.items():
            entries[number * 7 : number * 7 + len(place)] = place
        for number, pack in enumerate(self.packs, last + 1):
            if pack.held:
                pack.pack(self.level)
            begins, n = PLACE.pack(2, number, 0)[:5], 0
            for first, count in runs(pack.numbers):
                entries[first * 7 : (first + count) * 7] = begins + begins.join(WHICH[n : n + count])
                n += count
            PLACE.pack_into(entries, number * 7, 1, self.at, 0)
            kind = f"/Type/ObjStm/N {len(pack.numbers)}/First {pack.head}/Filter/FlateDecode"
            self.write(_stream(number, kind, pack.packed))
            pack.packed = b""
        PLACE.pack_into(entries, (last + len(self.packs) + 1) * 7, 1, self.at, 0)
        size, name = last + len(self.packs) + 2, self.named.hexdigest()
        table = (
            f"/Type/XRef/W[1 4 2]/Size {size}/Root {root} 0 R/Info {last} 0 R/ID[<{name}><{name}>]/Filter/FlateDecode"
        )
        self.out.write(_stream(size - 1, table, compress(entries, self.level)))
        self.out.write(b"startxref\n%d\n%%%%EOF\n" % self.at)


def _packet(about: About) -> bytes:
    dates = DATES.format(_seconds(about)) if about.made else ""
    return PACKET.format(
        title=escape(about.title), subject=escape(about.subject), language=escape(about.language), maker=MAKER, dates=dates,
        extension=EXTENSION,
    ).encode()  # fmt: skip


def _info(about: About) -> str:
    """The same as the packet, as every older reader is told it."""
    said = {"Title": about.title, "Subject": about.subject, "Author": MAKER, "Creator": MAKER, "Producer": MAKER}
    if about.made:
        day = "D:" + "".join(letter for letter in _seconds(about) if letter.isdigit())
        said |= {"CreationDate": day, "ModDate": day}
    return f"<<{''.join(f'/{name}{text_string(words)}' for name, words in said.items())}>>"


def _seconds(about: About) -> str:
    return f"{about.made[:16]}:00"
