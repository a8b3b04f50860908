"""What ISO 19005-2 (PDF/A-2, levels B and A) and ISO 14289-1 (PDF/UA-1) ask of a file, as far as its structure shows it.

Rows F-29 and F-30 of the handbook; the numbers of clauses are from memory, and the standards are not at hand: whoever
certifies anything asks a validator. Each rule gives its faults in words, none where it holds.
"""

import re
from collections.abc import Callable, Iterator
from io import BytesIO
from typing import Any

import pikepdf
from asn1crypto.cms import ContentInfo
from fontTools.ttLib import TTFont
from lxml import etree

from tests.documents.structure import Node, Pressed, Told, letters_of

Rule = Callable[[Told], list[str]]
RULES: dict[str, Rule] = {}
DC, XMP, PDF = "{http://purl.org/dc/elements/1.1/}", "{http://ns.adobe.com/xap/1.0/}", "{http://ns.adobe.com/pdf/1.3/}"
PDFA, PDFUA = "{http://www.aiim.org/pdfa/ns/id/}", "{http://www.aiim.org/pdfua/ns/id/}"
INSIDE = {
    "Table": {"THead", "TBody", "TR"}, "THead": {"TR"}, "TBody": {"TR"}, "TR": {"TH", "TD"}, "L": {"LI"}, "LI": {"Lbl", "LBody"},
    "TOC": {"TOCI"}, "TOCI": {"Reference"}, "Reference": {"Link"},
}  # fmt: skip
AROUND = {
    "THead": "Table",
    "TBody": "Table",
    "TH": "TR",
    "TD": "TR",
    "LI": "L",
    "Lbl": "LI",
    "LBody": "LI",
    "TOCI": "TOC",
}
STANDARD = {
    "Document", "P", "H1", "H2", "H3", "L", "LI", "Lbl", "LBody", "Table", "THead", "TBody", "TR", "TH", "TD", "TOC", "TOCI",
    "Reference", "Link", "Figure", "Span",
}  # fmt: skip
OPERATORS = {
    "b",
    "B",
    "b*",
    "B*",
    "BDC",
    "BMC",
    "BT",
    "c",
    "cm",
    "d",
    "EMC",
    "Do",
    "ET",
    "f",
    "f*",
    "g",
    "G",
    "gs",
    "h",
    "j",
    "J",
    "l",
    "m",
    "M",
    "n",
    "q",
    "Q",
    "re",
    "rg",
    "RG",
    "s",
    "S",
    "Tc",
    "Td",
    "TD",
    "Tf",
    "Tj",
    "TJ",
    "TL",
    "Tm",
    "Tr",
    "T*",
    "Tw",
    "Tz",
    "v",
    "w",
    "W",
    "W*",
    "y",
}


def rule(clause: str) -> Callable[[Rule], Rule]:
    def keep(check: Rule) -> Rule:
        RULES[clause] = check
        return check

    return keep


def objects(told: Told) -> Iterator[Any]:
    """Every dictionary of the file, those inside others too."""
    todo = list(told.pdf.objects)
    while todo:
        each = todo.pop()
        if isinstance(each, pikepdf.Array):
            todo += [
                kid for kid in each if isinstance(kid, (pikepdf.Array, pikepdf.Dictionary)) and not kid.is_indirect
            ]
        elif isinstance(each, (pikepdf.Dictionary, pikepdf.Stream)):
            yield each
            todo += [
                kid
                for _, kid in each.items()
                if isinstance(kid, (pikepdf.Array, pikepdf.Dictionary)) and not kid.is_indirect
            ]


def metadata(told: Told) -> Any:
    return etree.fromstring(told.pdf.Root.Metadata.read_bytes())


def value(told: Told, name: str) -> str:
    found = metadata(told).find(f".//{name}")
    return " ".join("".join(found.itertext()).split()) if found is not None else ""


def fonts(told: Told) -> list[Any]:
    found = {font.objgen: font for page in told.pdf.pages for font in page.Resources.get("/Font", {}).values()}
    return list(found.values())


def notes(told: Told) -> list[Any]:
    return [note for page in told.pdf.pages for note in page.get("/Annots", [])]


def is_signature(note: Any) -> bool:
    """A field for a signature that is not shown: of no size, and outside of the page (table 165 and 12.7.4.5 of ISO 32000-1)."""
    left, low, right, high = (float(edge) for edge in note.Rect)
    return note.Subtype == "/Widget" and note.get("/FT") == "/Sig" and left == right < 0 and low == high < 0


def signatures(told: Told) -> list[Any]:
    return [note for note in notes(told) if is_signature(note)]


def contents(told: Told) -> Iterator[Any]:
    """The content of each page, and of each form that a page draws."""
    forms = {}
    for page in told.pdf.pages:
        yield page
        forms |= {form.objgen: form for form in page.Resources.get("/XObject", {}).values() if form.Subtype == "/Form"}
    yield from forms.values()


def faults(*pairs: tuple[bool, str]) -> list[str]:
    """The words of each pair whose claim does not hold."""
    return [says for holds, says in pairs if not holds]


# ISO 19005-2 ---------------------------------------------------------------------------------------------------------


@rule("PDF/A-2 6.1.2 header")
def header(told: Told) -> list[str]:
    begins = told.data[:32].split(b"\n")
    return faults(
        (bool(re.fullmatch(rb"%PDF-1\.[0-7]", begins[0].strip())), "another header"),
        (begins[1][:1] == b"%" and all(byte > 127 for byte in begins[1][1:5]), "no comment of bytes above 127"),
    )


@rule("PDF/A-2 6.1.3 trailer")
def trailer(told: Told) -> list[str]:
    ids = told.pdf.trailer.get("/ID", [])
    return faults(
        (len(ids) == 2 and all(len(bytes(each)) == 16 for each in ids), "no identity"),
        ("/Encrypt" not in told.pdf.trailer, "encrypted"),
        (told.data.rstrip().endswith(b"%%EOF"), "something after the end"),
    )


@rule("PDF/A-2 6.1.7 streams")
def streams(told: Told) -> list[str]:
    kinds = [(each, each.get("/Filter", pikepdf.Array())) for each in objects(told) if isinstance(each, pikepdf.Stream)]
    used = {str(name) for _, kind in kinds for name in (kind if isinstance(kind, pikepdf.Array) else [kind])}
    outside = [each for each, _ in kinds if {"/F", "/FFilter", "/FDecodeParms"} & set(each.keys())]
    return faults(
        (not used & {"/LZWDecode", "/Crypt"}, "a filter that is not allowed"), (not outside, "kept outside of the file")
    )


@rule("PDF/A-2 6.1.9 objects")
def spaced_objects(told: Told) -> list[str]:
    """The words that begin and end objects and streams stand on lines of their own."""
    begun, whole = len(re.findall(rb"\d+ 0 obj\n", told.data)), len(re.findall(rb"\nendobj\n", told.data))
    streams = [len(re.findall(word, told.data)) for word in (rb"\nstream\n", rb"\nendstream\nendobj\n", rb"endstream")]
    return faults(
        (begun == whole, f"{begun} begun, {whole} ended"),
        (len(set(streams)) == 1 and streams[0] <= begun, f"streams {streams}"),
    )


@rule("PDF/A-2 6.1.13 limits")
def limits(told: Told) -> list[str]:
    long = [
        kid
        for each in objects(told)
        for _, kid in each.items()
        if isinstance(kid, pikepdf.String) and len(bytes(kid)) > 32767
    ]
    deep = [each for each in contents(told) if deepest(each) > 28]
    names = [key for each in objects(told) for key in each.keys() if len(key) > 128]  # noqa: SIM118
    return faults((not long, "a string too long"), (not deep, "states nested too deep"), (not names, "a name too long"))


def deepest(content: Any) -> int:
    deep = most = 0
    for _, operator in pikepdf.parse_content_stream(content):
        deep += {"q": 1, "Q": -1}.get(str(operator), 0)
        most = max(most, deep)
    return most


@rule("PDF/A-2 6.2.2 operators")
def operators(told: Told) -> list[str]:
    used = {str(operator) for each in contents(told) for _, operator in pikepdf.parse_content_stream(each)}
    return [f"operator {each}" for each in sorted(used - OPERATORS)]


@rule("PDF/A-2 6.2.3 output intent")
def intent(told: Told) -> list[str]:
    found = told.pdf.Root.get("/OutputIntents", [])
    profile = found[0].DestOutputProfile.read_bytes() if len(found) == 1 else b""
    return faults(
        (len(found) == 1 and found[0].S == "/GTS_PDFA1", "no output intent"),
        (profile[16:20] == b"RGB " and profile[36:40] == b"acsp" and profile[8] <= 4, "no profile of RGB"),
        (bool(profile) and found[0].DestOutputProfile.N == 3, "another number of colours"),
    )


@rule("PDF/A-2 6.2.4 colours")
def colours(told: Told) -> list[str]:
    """Only the colours that the output intent says how to show: grey and red, green, blue."""
    used = {str(operator) for each in contents(told) for _, operator in pikepdf.parse_content_stream(each)}
    spaces = {
        str(each.ColorSpace) for each in objects(told) if "/ColorSpace" in each and each.get("/Subtype") == "/Image"
    }
    return faults(
        (not used & {"k", "K", "cs", "CS", "sc", "scn"}, "other colours"),
        (spaces <= {"/DeviceRGB", "/DeviceGray"}, "an image’s"),
    )


@rule("PDF/A-2 6.2.10 transparency")
def transparency(told: Told) -> list[str]:
    see_through = [
        each for each in objects(told) if each.get("/SMask") not in (None, "/None") or each.get("/Type") == "/Group"
    ]
    see_through += [each for each in objects(told) if each.get("/ca", 1) != 1 or each.get("/CA", 1) != 1]
    return faults((not see_through, "something is seen through"))


@rule("PDF/A-2 6.2.11.4 fonts embedded")
def embedded(told: Told) -> list[str]:
    return [f"{font.BaseFont}" for font in fonts(told) if "/FontFile2" not in font.FontDescriptor]


@rule("PDF/A-2 6.2.11.5 widths")
def widths(told: Told) -> list[str]:
    """What the file says of a glyph's width is what the font in it says, to a thousandth of an em."""
    found = []
    for font in fonts(told):
        face = TTFont(BytesIO(font.FontDescriptor.FontFile2.read_bytes()))
        glyphs, unit = face["cmap"].getcmap(1, 0).cmap, 1000 / face["head"].unitsPerEm
        for code in used_codes(told, font):
            wide = face["hmtx"][glyphs[code]][0] * unit
            if abs(wide - float(font.Widths[code - int(font.FirstChar)])) > 1:
                found.append(f"{font.BaseFont} {code}")
    return found


def used_codes(told: Told, font: Any) -> set[int]:
    return set().union(*(codes for at, codes in told.codes.items() if at == font.objgen))


@rule("PDF/A-2 6.2.11.6 character encodings of TrueType fonts")
def encodings(told: Told) -> list[str]:
    """A symbolic font has no encoding, and one table of characters."""
    found = []
    for font in fonts(told):
        tables = TTFont(BytesIO(font.FontDescriptor.FontFile2.read_bytes()))["cmap"].tables
        if not (int(font.FontDescriptor.Flags) & 4 and "/Encoding" not in font and len(tables) == 1):
            found.append(str(font.BaseFont))
    return found


@rule("PDF/A-2 6.2.11.7 and PDF/UA-1 7.21.7 letters")
def unicode(told: Told) -> list[str]:
    """Each code that is shown has its letter, and none has 0, a byte order mark or what is no character."""
    found = []
    for font in fonts(told):
        letters = letters_of(font)
        found += [
            f"{font.BaseFont} {c}" for c in used_codes(told, font) if letters.get(c, "\0") in ("\0", "\ufeff", "\ufffe")
        ]
    return found


@rule("PDF/A-2 6.2.11.8 and PDF/UA-1 7.21.8 no missing glyph")
def missing(told: Told) -> list[str]:
    found = []
    for font in fonts(told):
        glyphs = TTFont(BytesIO(font.FontDescriptor.FontFile2.read_bytes()))["cmap"].getcmap(1, 0).cmap
        found += [
            f"{font.BaseFont} {code}" for code in used_codes(told, font) if glyphs.get(code, ".notdef") == ".notdef"
        ]
    return found


@rule("PDF/A-2 6.3 notes")
def printed(told: Told) -> list[str]:
    """Only links and signatures, printed and never hidden (bits 1, 2, 3 and 6 of the flags; table 165 of ISO 32000-1)."""
    return [
        str(note.Subtype)
        for note in notes(told)
        if not (note.Subtype == "/Link" or is_signature(note)) or int(note.get("/F", 0)) & 0b100111 != 4
    ]


@rule("PDF/A-2 6.4.3 signatures")
def over_all(told: Told) -> list[str]:
    """A signature is over the whole file but itself (12.8.1 of ISO 32000-1), by one signer, whose certificate lies in it."""
    found = []
    for field in signatures(told):
        first, end, begin, rest = (int(each) for each in field.V.ByteRange)
        held, whole = told.data[end:begin], len(told.data)
        signed = ContentInfo.load(bytes(field.V.Contents))["content"]
        numbers = [each.chosen.serial_number for each in signed["certificates"]]
        names = [each["sid"].chosen["serial_number"].native for each in signed["signer_infos"]]
        found += faults(
            (first == 0 and begin + rest == whole, "not over the whole file"),
            (held.lower() == b"<%s>" % bytes(field.V.Contents).hex().encode(), "over more or less than all but itself"),
            (len(names) == 1 and set(names) <= set(numbers), "without its certificate"),
        )
    return found


@rule("PDF/A-2 6.5 actions")
def actions(told: Told) -> list[str]:
    kinds = {str(each.A.S) for each in objects(told) if "/A" in each and "/S" in each.A and "/O" not in each.A}
    more = [each for each in objects(told) if {"/AA", "/JS", "/OpenAction", "/JavaScript"} & set(each.keys())]
    return faults((kinds <= {"/URI", "/GoTo"}, f"{kinds}"), (not more, "an action of its own accord"))


@rule("PDF/A-2 6.6.2 metadata")
def packet(told: Told) -> list[str]:
    """As plain XML in the catalogue, and the same as what older readers are told."""
    stream, info = told.pdf.Root.Metadata, told.pdf.trailer.Info
    day = "".join(re.findall(r"\d", value(told, f"{XMP}CreateDate")))
    pairs = {
        "/Title": value(told, f"{DC}title"), "/Subject": value(told, f"{DC}description"), "/Author": value(told, f"{DC}creator"),
        "/Creator": value(told, f"{XMP}CreatorTool"), "/Producer": value(told, f"{PDF}Producer"),
        "/CreationDate": f"D:{day}" if day else "", "/ModDate": f"D:{day}" if day else "",
    }  # fmt: skip
    other = [name for name, says in pairs.items() if " ".join(str(info.get(name, "")).split()) != says]
    return faults(
        (stream.Type == "/Metadata" and "/Filter" not in stream, "packed"),
        (not other, f"said otherwise: {other}"),
        (set(info.keys()) <= set(pairs), "more is said to older readers"),
    )


@rule("PDF/A-2 6.6.4 version")
def version(told: Told) -> list[str]:
    return faults((value(told, f"{PDFA}part") == "2" and value(told, f"{PDFA}conformance") == "A", "no part and level"))


@rule("PDF/A-2 6.6.2.3.3 further schemas describe themselves")
def schemas(told: Told) -> list[str]:
    text = told.pdf.Root.Metadata.read_bytes()
    return faults((b"pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/<" in text, "an unknown schema"))


@rule("PDF/A-2 6.8 to 6.11 nothing hidden in it")
def hidden(told: Told) -> list[str]:
    root = told.pdf.Root
    names = root.get("/Names", {})
    return faults(
        ("/OCProperties" not in root, "layers"),
        (not {"/EmbeddedFiles", "/AlternatePresentations", "/JavaScript"} & set(names.keys()), "files or shows in it"),
        (only_signatures(told) and not root.get("/NeedsRendering", False), "a form"),
    )


def only_signatures(told: Told) -> bool:
    """Nothing is to be filled in: a form is there for signatures only."""
    form = told.pdf.Root.get("/AcroForm", pikepdf.Dictionary(Fields=[]))
    fields = {field.objgen for field in form.Fields}
    return fields == {field.objgen for field in signatures(told)} and not {"/XFA", "/NeedAppearances"} & set(
        form.keys()
    )


# ISO 14289-1 ---------------------------------------------------------------------------------------------------------


@rule("PDF/UA-1 5 version")
def ua_version(told: Told) -> list[str]:
    return faults((value(told, f"{PDFUA}part") == "1", "no part"))


@rule("PDF/UA-1 7.1 marked")
def marked(told: Told) -> list[str]:
    root = told.pdf.Root
    return faults(
        (bool(root.get("/MarkInfo", {}).get("/Marked", False)), "not marked"),
        (not root.get("/MarkInfo", {}).get("/Suspects", False), "suspect"),
        (told.strays() == [], "drawn outside of every mark"),
        (sorted(told.read) == sorted(told.marks()), "a mark that is not read, or read twice"),
    )


@rule("PDF/UA-1 7.1 title")
def title(told: Told) -> list[str]:
    shown = told.pdf.Root.get("/ViewerPreferences", {}).get("/DisplayDocTitle", False)
    return faults((bool(shown) and bool(value(told, f"{DC}title")), "no title shown"))


@rule("PDF/UA-1 7.1 kinds of elements")
def kinds(told: Told) -> list[str]:
    """Only the standard ones (ISO 32000-1, 14.8.4), so no map of roles; each inside what may hold it."""
    found = [node.kind for node in told.root.all() if node.kind not in STANDARD]
    for node in told.root.all():
        inner = [part.kind for part in node.parts if isinstance(part, Node)]
        found += [f"{kind} in {node.kind}" for kind in inner if node.kind in INSIDE and kind not in INSIDE[node.kind]]
        found += [
            f"{kind} in {node.kind}"
            for kind in inner
            if AROUND.get(kind, node.kind) != node.kind and node.kind != "TBody" and node.kind != "THead"
        ]
        found += [f"text in {node.kind}" for part in node.parts if node.kind in INSIDE and not isinstance(part, Node)]
    return found


@rule("PDF/UA-1 7.2 language")
def language(told: Told) -> list[str]:
    return faults((bool(re.fullmatch(r"[a-z]{2}(-[A-Z]{2})?", str(told.pdf.Root.get("/Lang", "")))), "no language"))


@rule("PDF/UA-1 7.3 pictures")
def pictures(told: Told) -> list[str]:
    """Each has its words and its place on the page."""
    return [
        "a picture" for node in told.root.of("Figure")
        if not str(node.entry.get("/Alt", "")).strip() or len(node.entry.get("/A", {}).get("/BBox", [])) != 4
    ]  # fmt: skip


@rule("PDF/UA-1 7.4 heads")
def heads(told: Told) -> list[str]:
    """The first is of the first level, and no level is left out on the way down."""
    levels = [int(node.kind[1]) for node in told.root.of("H1", "H2", "H3")]
    return [f"level {low} after {high}" for high, low in zip([0, *levels], levels, strict=False) if low > high + 1]


@rule("PDF/UA-1 7.5 tables")
def tables(told: Told) -> list[str]:
    """Each has heads, and each head says of what, or is named by its cells."""
    bare = [table.words()[:40] for table in told.root.of("Table") if not table.of("TH")]
    return bare + [head.words() for head in told.root.of("TH") if "/Scope" not in head.entry.get("/A", {})]


@rule("PDF/UA-1 7.6 lists")
def lists(told: Told) -> list[str]:
    """One whose items are numbered says how."""
    return [
        "a list"
        for node in told.root.of("L")
        if node.of("Lbl") and node.entry.get("/A", {}).get("/ListNumbering", "/None") == "/None"
    ]


@rule("PDF/UA-1 7.8 heads and feet of pages")
def pagination(told: Told) -> list[str]:
    loose = [
        mark.says
        for marks, _ in told.pages
        for mark in marks
        if mark.number is None and mark.says.strip() and mark.kind not in ("/Header", "/Footer")
    ]
    return [f"set aside: {says}" for says in loose]


@rule("PDF/UA-1 7.18.1 and 7.18.5 links")
def links(told: Told) -> list[str]:
    """Each note is in the tree, inside a Link, and says where it leads."""
    inside = {part.entry.objgen for node in told.root.of("Link") for part in node.parts if isinstance(part, Pressed)}
    return [
        str(note.get("/Contents", "")) or "nameless"
        for note in notes(told)
        if not is_signature(note) and (note.objgen not in inside or not str(note.get("/Contents", "")).strip())
    ]


@rule("PDF/UA-1 7.18.1 and 7.18.4 fields")
def fields(told: Told) -> list[str]:
    """One that is outside of the page is no part of the tree; it is named all the same."""
    return ["nameless" for field in signatures(told) if not str(field.get("/TU", "")).strip()]


@rule("PDF/UA-1 7.18.3 tab order")
def tabs(told: Told) -> list[str]:
    return ["a page" for page in told.pdf.pages if page.get("/Tabs") != "/S"]


@rule("PDF/UA-1 7.21.4 fonts embedded")
def ua_embedded(told: Told) -> list[str]:
    return embedded(told)
