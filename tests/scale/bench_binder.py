"""How long a binder takes beside a bare canvas, in the same run. Run: python -m tests.scale.bench_binder

Two floors, each with as many pages as the binder: `lines` draws 45 strings a page; `words` draws every string of every
page of the binder, one by one, where the binder drew it: the same letters, without heads, tables, links or counting.
"""

import io
import time
from collections.abc import Callable

import pypdf
from reportlab.lib.pagesizes import A4
from reportlab.pdfgen.canvas import Canvas

from tests.documents.made_up_binder import full
from training.documents.binder.build import build
from training.documents.fonts import register_fonts

LINES = 45
RUNS = 3


def bare(buffer: io.BytesIO) -> Canvas:
    """The canvas of the library, without marks, structure or the last hand on the file."""
    register_fonts()
    return Canvas(buffer, pagesize=A4, initialFontName="R", invariant=1, pageCompression=1)


def lines(pages: int) -> bytes:
    """One string a line, 45 lines a page, the same font."""
    buffer = io.BytesIO()
    canvas = bare(buffer)
    for page in range(pages):
        canvas.setFont("R", 9.5)
        for line in range(LINES):
            says = f"{page} {line} Person Ångström, tool swap, version 4, signed by Tomas Lindqvist"
            canvas.drawString(68, 780 - 16 * line, says)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def words(pages: list[list[str]]) -> bytes:
    """The strings of each page, one by one."""
    buffer = io.BytesIO()
    canvas = bare(buffer)
    for strings in pages:
        canvas.setFont("R", 9.5)
        for n, string in enumerate(strings):
            canvas.drawString(68 + n % 7 * 60, 780 - n // 7 * 12, string)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def median(work: Callable[[], bytes]) -> float:
    """Seconds: the middle of three runs."""
    took = []
    for _ in range(RUNS):
        start = time.perf_counter()
        work()
        took.append(time.perf_counter() - start)
    return sorted(took)[RUNS // 2]


def main() -> None:
    lines(1)
    per_page = []
    for people in (500, 2000):
        content = full(people, 22)
        reader = pypdf.PdfReader(io.BytesIO(build(content)))
        pages = [page.extract_text().splitlines() for page in reader.pages]
        count = len(pages)
        took, bare, same = (
            median(lambda: build(content)),  # noqa: B023
            median(lambda: lines(count)),  # noqa: B023
            median(lambda: words(pages)),  # noqa: B023
        )
        per_page.append(took / count)
        strings = sum(map(len, pages)) / count
        print(f"{people} people, {count} pages, {strings:.0f} strings a page: {count / took:.0f} pages/s")
        print(f"  {took / bare:.2f} x a bare canvas of 45 lines a page ({count / bare:.0f} pages/s)")
        print(f"  {took / same:.2f} x a bare canvas of the same strings ({count / same:.0f} pages/s)")
    print(f"growth of seconds a page from 1x to 4x: {per_page[1] / per_page[0]:.2f}")


if __name__ == "__main__":
    main()
