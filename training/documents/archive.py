"""The last hand on a document: what a file needs so that everyone can read it, and still can in decades.

Built to the rules of PDF/A-2 (ISO 19005-2, level A) and PDF/UA-1 (ISO 14289-1); no body has certified it. `made` is the
instant that the content says it was made, without a zone, as the site's clock showed it; empty where it says none.
"""

from dataclasses import dataclass
from functools import cache
from io import BytesIO
from xml.sax.saxutils import escape

import pikepdf
from PIL import ImageCms

MAKER = "Millroom Register"
COLOURS = "sRGB IEC61966-2.1"
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


@cache
def colours() -> bytes:
    """The profile by which its colours are meant; its day of making is left out, so that it is the same each time."""
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    profile[24:36] = bytes((7, 208, 0, 1, 0, 1, 0, 0, 0, 0, 0, 0))  # ICC.1, 7.2.8: year 2000, month 1, day 1
    profile[84:100] = bytes(16)  # 7.2.18: a digest of the profile, which may be left out
    return bytes(profile)


def archived(data: bytes, about: About, structure: int, page_keys: list[int]) -> bytes:
    """The file made whole. `structure`: number of the structure tree's root; `page_keys`: of each page in its parent tree."""
    with pikepdf.open(BytesIO(data)) as pdf:
        _pages(pdf, page_keys)
        _catalog(pdf, about, structure)
        _about(pdf, about)
        out = BytesIO()
        pdf.save(
            out,
            object_stream_mode=pikepdf.ObjectStreamMode.generate,
            deterministic_id=True,
            force_version="1.7",
            fix_metadata_version=False,
        )
    return out.getvalue()


def _pages(pdf: pikepdf.Pdf, keys: list[int]) -> None:
    tabs = pikepdf.Name.S
    for page, key in zip(pdf.pages, keys, strict=True):
        page.obj.Tabs, page.obj.StructParents = tabs, key
        if "/Trans" in page.obj:
            del page.obj["/Trans"]


def _catalog(pdf: pikepdf.Pdf, about: About, structure: int) -> None:
    root, intent = pdf.Root, pikepdf.Dictionary(Type=pikepdf.Name.OutputIntent, S=pikepdf.Name.GTS_PDFA1)
    profile = pdf.make_stream(colours(), N=3)
    intent.OutputConditionIdentifier = intent.Info = pikepdf.String(COLOURS)
    intent.DestOutputProfile = profile
    root.OutputIntents = pikepdf.Array([pdf.make_indirect(intent)])
    root.StructTreeRoot = pdf.get_object(structure, 0)
    root.MarkInfo = pikepdf.Dictionary(Marked=True)
    root.ViewerPreferences = pikepdf.Dictionary(DisplayDocTitle=True)
    root.Lang = pikepdf.String(about.language)


def _about(pdf: pikepdf.Pdf, about: About) -> None:
    """The same said twice: as PDF/A has it, and as every older reader does."""
    seconds = about.made[:16] + ":00" if about.made else ""
    packet = PACKET.format(
        title=escape(about.title), subject=escape(about.subject), language=escape(about.language), maker=MAKER,
        dates=DATES.format(seconds) if seconds else "", extension=EXTENSION,
    )  # fmt: skip
    pdf.Root.Metadata = pdf.make_stream(packet.encode(), Type=pikepdf.Name.Metadata, Subtype=pikepdf.Name.XML)
    said = {"/Title": about.title, "/Subject": about.subject, "/Author": MAKER, "/Creator": MAKER, "/Producer": MAKER}
    if seconds:
        day = "D:" + "".join(letter for letter in seconds if letter.isdigit())
        said |= {"/CreationDate": day, "/ModDate": day}
    pdf.trailer.Info = pdf.make_indirect(pikepdf.Dictionary(said))
