"""Each rule of PDF/A-2 and PDF/UA-1 over every kind of paper, and each seen to find what breaks it."""

import hashlib
import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from io import BytesIO
from typing import Any

import pikepdf
import pypdf
import pytest
from reportlab.pdfbase import pdfmetrics

from tests.documents.made_up_binder import full
from tests.documents.papers import PAPERS, paper, told
from tests.documents.rules import RULES
from tests.documents.structure import Told
from training.documents.archive import PACKED, colours, runs
from training.documents.binder.build import build
from training.documents.binder.content import PACKING, BinderContent
from training.documents.fonts import register_fonts

Break = Callable[[pikepdf.Pdf], Any]


def first(pdf: pikepdf.Pdf, kind: str) -> Any:
    """The first element of a kind."""
    todo = [pdf.Root.StructTreeRoot.K]
    while todo:
        each = todo.pop(0)
        if f"/{kind}" == each.S:
            return each
        kids = each.get("/K", pikepdf.Array())
        todo += [
            kid
            for kid in (kids if isinstance(kids, pikepdf.Array) else [kids])
            if isinstance(kid, pikepdf.Dictionary) and "/S" in kid
        ]
    raise LookupError(kind)


def font(pdf: pikepdf.Pdf) -> Any:
    return next(iter(pdf.pages[0].Resources.Font.values()))


def note(pdf: pikepdf.Pdf) -> Any:
    return next(note for page in pdf.pages for note in page.get("/Annots", []))


def drawn(pdf: pikepdf.Pdf, more: bytes) -> None:
    page = pdf.pages[0]
    page.Contents = pdf.make_stream(page.Contents.read_bytes() + more)


def said(pdf: pikepdf.Pdf, old: bytes, new: bytes) -> None:
    text = pdf.Root.Metadata.read_bytes()
    assert old in text
    pdf.Root.Metadata = pdf.make_stream(text.replace(old, new), Type=pikepdf.Name.Metadata, Subtype=pikepdf.Name.XML)


def narrow(pdf: pikepdf.Pdf) -> None:
    for each in pdf.pages[0].Resources.Font.values():
        each.Widths = pikepdf.Array([1] * len(each.Widths))


def unlettered(pdf: pikepdf.Pdf) -> None:
    table = font(pdf).ToUnicode.read_bytes()
    font(pdf).ToUnicode = pdf.make_stream(re.sub(rb"<(\w\w)> <\w{4}>", rb"<\1> <0000>", table))


def unglyphed(pdf: pikepdf.Pdf) -> None:
    """The font of a page is taken for that of another: its own letters are not in it."""
    faces = list(pdf.pages[0].Resources.Font.values())
    small = min(faces, key=lambda each: len(each.FontDescriptor.FontFile2.read_bytes()))
    for each in faces:
        each.FontDescriptor.FontFile2 = small.FontDescriptor.FontFile2


BREAKS: dict[str, Break | tuple[bytes, bytes]] = {
    "PDF/A-2 6.1.2 header": (b"%PDF-1.7", b"%PDF-2.0"),
    "PDF/A-2 6.1.3 trailer": (b"%%EOF\n", b"%%EOF\n more"),
    "PDF/A-2 6.1.7 streams": lambda pdf: setattr(font(pdf).ToUnicode, "F", pikepdf.String("elsewhere")),
    "PDF/A-2 6.1.9 objects": (b"\nendstream", b" endstream"),
    "PDF/A-2 6.1.13 limits": lambda pdf: setattr(first(pdf, "P"), "Alt", pikepdf.String("x" * 40000)),
    "PDF/A-2 6.2.2 operators": lambda pdf: drawn(pdf, b" zz"),
    "PDF/A-2 6.2.3 output intent": lambda pdf: pdf.Root.__delitem__("/OutputIntents"),
    "PDF/A-2 6.2.4 colours": lambda pdf: drawn(pdf, b" 0 0 0 1 k"),
    "PDF/A-2 6.2.10 transparency": lambda pdf: setattr(
        pdf.pages[0].obj, "Group", pikepdf.Dictionary(Type=pikepdf.Name.Group)
    ),
    "PDF/A-2 6.2.11.4 fonts embedded": lambda pdf: font(pdf).FontDescriptor.__delitem__("/FontFile2"),
    "PDF/A-2 6.2.11.5 widths": narrow,
    "PDF/A-2 6.2.11.6 character encodings of TrueType fonts": lambda pdf: setattr(
        font(pdf), "Encoding", pikepdf.Name.WinAnsiEncoding
    ),
    "PDF/A-2 6.2.11.7 and PDF/UA-1 7.21.7 letters": unlettered,
    "PDF/A-2 6.2.11.8 and PDF/UA-1 7.21.8 no missing glyph": unglyphed,
    "PDF/A-2 6.3 notes": lambda pdf: setattr(note(pdf), "F", 2),
    "PDF/A-2 6.4.3 signatures": (b"%%EOF\n", b"%%EOF\n%%EOF\n"),
    "PDF/A-2 6.5 actions": lambda pdf: setattr(pdf.Root, "OpenAction", pikepdf.Array([])),
    "PDF/A-2 6.6.2 metadata": lambda pdf: setattr(pdf.trailer.Info, "Title", pikepdf.String("another")),
    "PDF/A-2 6.6.4 version": lambda pdf: said(pdf, b"pdfaid:part>2", b"pdfaid:part>1"),
    "PDF/A-2 6.6.2.3.3 further schemas describe themselves": lambda pdf: said(pdf, b"namespaceURI", b"nameSpace"),
    "PDF/A-2 6.8 to 6.11 nothing hidden in it": lambda pdf: setattr(pdf.Root, "OCProperties", pikepdf.Dictionary()),
    "PDF/UA-1 5 version": lambda pdf: said(pdf, b"pdfuaid:part>1", b"pdfuaid:part>"),
    "PDF/UA-1 7.1 marked": lambda pdf: setattr(pdf.Root, "MarkInfo", pikepdf.Dictionary(Marked=False)),
    "PDF/UA-1 7.1 title": lambda pdf: pdf.Root.__delitem__("/ViewerPreferences"),
    "PDF/UA-1 7.1 kinds of elements": lambda pdf: setattr(first(pdf, "LBody"), "S", pikepdf.Name.Steps),
    "PDF/UA-1 7.2 language": lambda pdf: pdf.Root.__delitem__("/Lang"),
    "PDF/UA-1 7.3 pictures": lambda pdf: first(pdf, "Figure").__delitem__("/Alt"),
    "PDF/UA-1 7.4 heads": lambda pdf: setattr(first(pdf, "H1"), "S", pikepdf.Name.H2),
    "PDF/UA-1 7.5 tables": lambda pdf: setattr(first(pdf, "TH"), "A", pikepdf.Dictionary()),
    "PDF/UA-1 7.6 lists": lambda pdf: first(pdf, "L").__delitem__("/A"),
    "PDF/UA-1 7.8 heads and feet of pages": (b"", b""),
    "PDF/UA-1 7.18.1 and 7.18.5 links": lambda pdf: note(pdf).__delitem__("/Contents"),
    "PDF/UA-1 7.18.1 and 7.18.4 fields": lambda pdf: pdf.Root.AcroForm.Fields[0].__delitem__("/TU"),
    "PDF/UA-1 7.18.3 tab order": lambda pdf: pdf.pages[0].obj.__delitem__("/Tabs"),
    "PDF/UA-1 7.21.4 fonts embedded": lambda pdf: font(pdf).FontDescriptor.__delitem__("/FontFile2"),
}


@pytest.mark.parametrize("clause", RULES)
def test_every_kind_of_paper_keeps_the_rule(clause: str) -> None:
    found = {name: RULES[clause](told(name)) for name in PAPERS}
    assert {name: those[:3] for name, those in found.items() if those} == {}


@pytest.mark.parametrize("clause", RULES)
def test_the_rule_finds_what_breaks_it(clause: str) -> None:
    assert RULES[clause](Told(broken(clause)))


def broken(clause: str) -> bytes:
    how, data = BREAKS[clause], paper("signed binder" if clause.endswith(("signatures", "fields")) else "binder")
    if clause.startswith("PDF/UA-1 7.8"):
        how = lambda pdf: unnamed_feet(pdf)  # noqa: E731
    if isinstance(how, tuple):
        return data.replace(*how)
    with pikepdf.open(BytesIO(data)) as pdf:
        how(pdf)
        out = BytesIO()
        pdf.save(out, deterministic_id=True)
    return out.getvalue()


def unnamed_feet(pdf: pikepdf.Pdf) -> None:
    page = pdf.pages[0]
    page.Contents = pdf.make_stream(page.Contents.read_bytes().replace(b"/Subtype/Footer", b""))


@pytest.mark.parametrize("name", PAPERS)
def test_readers_open_it_without_a_word(name: str) -> None:
    """Two libraries, neither of which drew it; the second refuses what is not strictly as it should be."""
    with pikepdf.open(BytesIO(paper(name))) as pdf:
        assert pdf.get_warnings() == [] and len(pdf.objects) > 10
    assert [page.extract_text() for page in pypdf.PdfReader(BytesIO(paper(name)), strict=True).pages]


def test_objects_are_packed_and_every_one_can_be_had() -> None:
    """ISO 32000-1, 7.5.7: those without a stream stand in others, more than one where there are many."""
    with pikepdf.open(BytesIO(paper("binder"))) as pdf:
        packs = [each for each in pdf.objects if isinstance(each, pikepdf.Stream) and each.get("/Type") == "/ObjStm"]
        assert len(packs) == -(-sum(int(each.N) for each in packs) // PACKED) > 1


ELSEWHERE = """
import hashlib, time_machine
from reportlab.pdfbase import pdfmetrics

from tests.documents.made_up_binder import full
from tests.documents.papers import paper
with time_machine.travel("2031-05-05 03:04"):
    print(*(hashlib.sha256(paper(name)).hexdigest() for name in {names}))
"""


def test_papers_are_the_same_bytes_under_another_hash_seed_zone_and_clock() -> None:
    names = ("certificate", "card", "checklist", "slip", "empty binder", "ten days", "coverage", "pictures")
    other = {**os.environ, "PYTHONHASHSEED": "77", "TZ": "Pacific/Auckland", "LANG": "C"}
    code = ELSEWHERE.format(names=names)
    told_there = subprocess.run([sys.executable, "-c", code], env=other, capture_output=True, text=True, check=True)
    assert told_there.stdout.split() == [hashlib.sha256(paper(name)).hexdigest() for name in names]


def levels(pdf: bytes) -> set[int]:
    """How tightly pages and packs of objects are packed, as the streams themselves say (RFC 1950, 2.2: FLEVEL)."""
    packs = re.findall(rb"/Type/ObjStm[^>]*>>\s+stream\n(..)", pdf, re.DOTALL)
    with pikepdf.open(BytesIO(pdf)) as opened:
        pages = [page.Contents.read_raw_bytes() for page in opened.pages]
    return {stream[1] >> 6 for stream in (*packs, *pages)}


def test_a_binder_frozen_before_there_was_a_choice_is_packed_as_it_was_and_says_the_same() -> None:
    plain = json.loads(full().to_json())
    assert plain.pop("packing") == PACKING
    before, now = build(BinderContent.from_plain(plain)), build(full())
    assert (levels(before), levels(now)) == ({2}, {1})
    with pikepdf.open(BytesIO(before)) as one, pikepdf.open(BytesIO(now)) as other:
        assert [page.Contents.read_bytes() for page in one.pages] == [
            page.Contents.read_bytes() for page in other.pages
        ]
        assert len(one.objects) == len(other.objects)


def test_runs_of_numbers_are_found_whole() -> None:
    assert list(runs([4])) == [(4, 1)] and list(runs([4, 5, 6])) == [(4, 3)]
    assert list(runs([1, 2, 5, 7, 8])) == [(1, 2), (5, 1), (7, 2)]


def test_days_are_those_that_the_content_names() -> None:
    """Neither the day of drawing nor a made-up one; none where the content names none."""
    assert str(told("certificate").pdf.trailer.Info.CreationDate) == "D:20260811162500"
    assert str(told("binder").pdf.trailer.Info.CreationDate) == "D:20261125124000"
    assert "/CreationDate" not in told("card").pdf.trailer.Info


def test_the_profile_of_colours_names_no_day_and_no_digest() -> None:
    """ICC.1:2010, 7.2.8 and 7.2.18: bytes 24 to 35 and 84 to 99 of the head."""
    assert colours()[24:36] == bytes.fromhex("07d000010001000000000000") and colours()[84:100] == bytes(16)
    assert int.from_bytes(colours()[:4], "big") == len(colours())


def test_a_part_of_a_font_is_cut_out_once_for_papers_that_say_the_same_letters() -> None:
    register_fonts()
    face: Any = pdfmetrics.getFont("R").face
    letters = [*range(32, 127), 0x141]
    assert face.makeSubset(letters) is face.makeSubset(list(letters))
    assert face.makeSubset([*letters, 0x142]) != face.makeSubset(letters)
