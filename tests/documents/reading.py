"""Reading finished PDFs: their words, their fonts, and their pages."""

import io

import pypdf

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
