"""The last hand on a document: what a file needs so that everyone can read it, and still can in decades.

Built to the rules of PDF/A-2 (ISO 19005-2, level A) and PDF/UA-1 (ISO 14289-1); no body has certified it. `made` is the
instant that the content says it was made, without a zone, as the site's clock showed it; empty where it says none.

The file is put together here, from the objects that the drawing library wrote and those of the structure: reading it all into
another library and writing it again took as long as the drawing itself.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from hashlib import md5
from itertools import accumulate, chain, islice
from struct import Struct
from xml.sax.saxutils import escape
from zlib import compress

from PIL import ImageCms

from .strings import text_string

MAKER = "Millroom Register"
COLOURS = "sRGB IEC61966-2.1"
HEAD = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"
PACKED = 200  # objects in one stream
PLACE = Struct(">BIH")  # kind, where, which in its stream: an entry of the table of objects
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


@dataclass(frozen=True, slots=True)
class Drawn:
    """What the drawing library wrote: each object by its number, those that have a stream whole; and the last number."""

    bodies: dict[int, bytes]
    streams: dict[int, bytes]
    last: int


@dataclass(frozen=True, slots=True)
class Parts:
    """What is added to a drawn file. `entries`: further entries of its objects by number; `objects`: the structure, root first,
    numbered on from the last one drawn, `count` of them. `catalog`, `info`: numbers of those two in the drawn file."""

    entries: Mapping[int, str]
    objects: Iterable[str]
    count: int
    catalog: int
    info: int


@cache
def colours() -> bytes:
    """The profile by which its colours are meant; its day of making is left out, so that it is the same each time."""
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    profile[24:36] = bytes((7, 208, 0, 1, 0, 1, 0, 0, 0, 0, 0, 0))  # ICC.1, 7.2.8: year 2000, month 1, day 1
    profile[84:100] = bytes(16)  # 7.2.18: a digest of the profile, which may be left out
    return bytes(profile)


def archived(drawn: Drawn, file: "Parts", about: About) -> list[bytes]:
    """The file made whole, in the parts of which it is put together."""
    bodies, streams = drawn.bodies, drawn.streams
    for number, more in file.entries.items():
        bodies[number] = bodies[number].rpartition(b">>")[0] + more.encode("latin1") + b">>"
    structure = drawn.last + 1
    number = structure + file.count - 1
    packet, profile = _packet(about), compress(colours())
    streams[number + 1] = _stream(number + 1, "/Type/Metadata/Subtype/XML", packet)
    streams[number + 2] = _stream(number + 2, "/N 3/Filter/FlateDecode", profile)
    intent = f"<</Type/OutputIntent/S/GTS_PDFA1/OutputConditionIdentifier({COLOURS})/Info({COLOURS})/DestOutputProfile {number + 2} 0 R>>"
    more = (
        f"/Lang{text_string(about.language)}/MarkInfo<</Marked true>>/Metadata {number + 1} 0 R/OutputIntents[{number + 3} 0 R]"
        f"/StructTreeRoot {structure} 0 R/ViewerPreferences<</DisplayDocTitle true>>>>"
    )
    catalog = bodies[file.catalog].rpartition(b">>")[0]
    bodies[file.catalog] = re.sub(rb"/Lang \(.*?\)", b"", catalog) + more.encode("latin1")
    del bodies[file.info]
    tree = enumerate((words.encode("latin1") for words in file.objects), structure)
    last = [(number + 3, intent.encode()), (number + 4, _info(about))]
    return _written(chain(sorted(bodies.items()), tree, last), streams, file.catalog, number + 4)


def _stream(number: int, entries: str, held: bytes) -> bytes:
    return b"%d 0 obj\n<</Length %d%s>>\nstream\n%s\nendstream\nendobj\n" % (number, len(held), entries.encode(), held)


def _written(objects: Iterator[tuple[int, bytes]], streams: dict[int, bytes], root: int, info: int) -> list[bytes]:
    """Objects without a stream, the last of them `info`, are packed into some that have one, and a table says where each stands
    (ISO 32000-1, 7.5.7 and 7.5.8). Few are held at a time: a binder has hundreds of thousands."""
    last = info
    entries = bytearray(b"\0\0\0\0\0\xff\xff" + bytes(7 * last))
    while packed := list(islice(objects, PACKED)):
        last += 1
        those, held = zip(*packed, strict=True)
        begins = accumulate([len(body) + 1 for body in held], initial=0)
        head = b"%d %d " * len(those) % tuple(chain.from_iterable(zip(those, begins, strict=False)))
        for n, number in enumerate(those):
            PLACE.pack_into(entries, number * 7, 2, last, n)
        streams[last] = _stream(
            last, f"/Type/ObjStm/N {len(held)}/First {len(head)}/Filter/FlateDecode", compress(head + b" ".join(held))
        )
        entries += bytes(7)
    parts, at = [HEAD], len(HEAD)
    for number in sorted(streams):
        entries[number * 7 : number * 7 + 7] = PLACE.pack(1, at, 0)
        parts.append(streams[number])
        at += len(streams[number])
    entries += PLACE.pack(1, at, 0)
    name = digest_of(parts)
    table = (
        f"/Type/XRef/W[1 4 2]/Size {last + 2}/Root {root} 0 R/Info {info} 0 R/ID[<{name}><{name}>]/Filter/FlateDecode"
    )
    return [*parts, _stream(last + 1, table, compress(bytes(entries))), b"startxref\n%d\n%%%%EOF\n" % at]


def digest_of(parts: Sequence[bytes]) -> str:
    """What names the file, of all that stands before its table."""
    found = md5(usedforsecurity=False)
    for part in parts:
        found.update(part)
    return found.hexdigest()


def _packet(about: About) -> bytes:
    dates = DATES.format(_seconds(about)) if about.made else ""
    return PACKET.format(
        title=escape(about.title), subject=escape(about.subject), language=escape(about.language), maker=MAKER, dates=dates,
        extension=EXTENSION,
    ).encode()  # fmt: skip


def _info(about: About) -> bytes:
    """The same as the packet, as every older reader is told it."""
    said = {"Title": about.title, "Subject": about.subject, "Author": MAKER, "Creator": MAKER, "Producer": MAKER}
    if about.made:
        day = "D:" + "".join(letter for letter in _seconds(about) if letter.isdigit())
        said |= {"CreationDate": day, "ModDate": day}
    return f"<<{''.join(f'/{name}{text_string(words)}' for name, words in said.items())}>>".encode("latin1")


def _seconds(about: About) -> str:
    return f"{about.made[:16]}:00"
