"""Reading finished PDFs: their words, their fonts, and their pages."""

import io
from collections.abc import Iterable, Sequence
from typing import Any
from unittest import mock

import pypdf

from training.documents.binder import build as binder
from training.documents.binder.content import BinderContent

# K-11 (own choice, D), and a paragraph of law that asks for no such record.
FORBIDDEN = ("ISO/IEC 17024 certified", "CLIA compliant", "OSHA approved", "1910.132(f)(4)", "would pass")


def read(data: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(data))


def words(data: bytes) -> str:
    """Every word of every page, with single spaces."""
    return " ".join(" ".join(page.extract_text() for page in read(data).pages).split())


def fonts(data: bytes) -> dict[str, bool]:
    """By name, whether the file carries the font itself."""
    found = {}
    for page in read(data).pages:
        for font in page["/Resources"]["/Font"].values():
            font = font.get_object()
            found[font["/BaseFont"]] = "/FontFile2" in font.get("/FontDescriptor", {})
    return found


def links(data: bytes) -> list[str]:
    """The addresses that can be pressed."""
    notes = [note.get_object() for page in read(data).pages for note in page.get("/Annots", ())]
    return [note["/A"]["/URI"] for note in notes if "/A" in note]


class Listener:
    """Stands where the canvas does and keeps the words of each page; everything else it lets pass."""

    def __init__(self) -> None:
        self.pages: list[str] = []
        self.words: list[str] = []

    def showPage(self) -> None:
        self.pages.append(" ".join(" ".join(self.words).split()))
        self.words = []

    def write(self, x: float, y: float, words: str, *look: Any) -> None:
        self.words.append(words)

    def write_cells(self, y: float, lefts: Iterable[float], cells: Iterable[Sequence[str]], *look: Any) -> None:
        self.words += [words for lines in cells for words in lines]

    def write_heads(self, y: float, heads: Iterable[tuple[float, str]], *look: Any) -> None:
        self.words += [words for _, words in heads]

    def write_as(self, kind: str, extra: str, x: float, y: float, words: str, *look: Any) -> None:
        self.words.append(words)

    def __getattr__(self, name: str) -> Any:
        return lambda *args, **kwargs: self


def words_drawn(content: BinderContent) -> list[str]:
    """The words of each page of a binder, without making its file."""
    listener = Listener()
    with mock.patch.object(binder, "new_canvas", lambda *args: listener), mock.patch.object(binder, "finish"):
        binder.build(content)
    return listener.pages
