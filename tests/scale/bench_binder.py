"""What papers take beside a bare canvas of the same strings, and what tags cost. Run: python -m tests.scale.bench_binder
With --full from 1,000 to 50,000 records of people, once each.

Seconds of the processor, the least of three runs: another program at work on the same machine counts for less so. Floors of a
binder, each with as many pages: `lines` draws 45 strings a page; `words` draws every string of every page of the binder, one by
one: the same letters, without heads, tables, links or counting. `untagged` draws the very binder on a canvas that marks
nothing and whose file is left as the library writes it. The floor of a certificate has its strings and its code square.
"""

import io
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from typing import Any
from unittest import mock

import pypdf
from reportlab.lib.pagesizes import A4, landscape
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from tests.documents.made_up import certificate
from tests.documents.made_up_binder import full
from training.documents import certificate as certificates
from training.documents import paper
from training.documents.binder import build as binder
from training.documents.fonts import register_fonts
from training.documents.pen import number
from training.documents.tags import Canvas as Marking

LINES = 45
RUNS = 3
SIZES = (500, 1000, 2000)  # people: 1x, 2x and 4x
EACH = 22  # records of a person
FULL = (45, 500, 1000, 2273)  # people: 1,000 to 50,000 records
ROOM = 150  # MB at the most, beside twice the file
BULK = 1000
FIRST = (
    "import time; t = time.process_time()\n"
    "from tests.documents.made_up import certificate\nfrom training.documents.certificate import build\n"
    "i = time.process_time(); build(certificate()); print(i - t, time.process_time() - i)"
)


PEAK = (  # the most that this program held by itself (Linux): what is asked of `resource` counts that of its parent too
    "import sys\nmost = lambda: int(open('/proc/self/status').read().split('VmHWM:')[1].split()[0]) // 1024\n"
    "from tests.documents.made_up_binder import full\nfrom training.documents.binder.build import build\n"
    "content = full(int(sys.argv[1]), int(sys.argv[2])); before = most(); build(content); print(before, most())"
)


def alone(script: str, *given: str) -> list[str]:
    """What a program of its own says."""
    ran = subprocess.run([sys.executable, "-c", script, *given], capture_output=True, text=True, check=True)
    return ran.stdout.split()


class Silent(Marking):
    """Draws what the canvas of the papers draws, and marks none of it; links and the file are those of the library."""

    def tag(self, *args: object, **named: object) -> None:
        pass

    untag = paragraph = figure = aside = stand_for = named = read_first = row = cell_links = _mark = _mark_text = tag

    def rule(self, x: float, y: float, right: float, colour: Any, width: float) -> None:
        self._code.append(
            f"{colour.stroke}\n{number(width)} w\nn {number(x)} {number(y)} m {number(right)} {number(y)} l S"
        )

    def stamp_link(self, form: str, at: Any, says: str, leads: str, box: Any, where: str) -> None:
        self.stamp(form, *at)
        self.linkRect(where, leads, box)

    def write_as(self, kind: str, extra: str, *what: Any) -> None:
        self.write(*what[:6])

    def write_heads(self, y: float, heads: Any, names: Any, look: Any) -> None:
        for x, words in heads:
            self.write(x, y, words, look.face, look.size, look.colour)

    def write_cells(self, y: float, lefts: Any, cells: Any, look: Any) -> None:
        shown = [("", x, lines) for x, lines in zip(lefts, cells, strict=True) if any(lines)]
        self._code.append(self.text_of_cells(y, shown, look))

    def linkURL(self, url: str, rect: Any, **named: Any) -> None:
        Canvas.linkURL(self, url, rect)

    def linkRect(self, contents: str, key: str, rect: Any, **named: Any) -> None:
        Canvas.linkRect(self, contents, key, rect)

    def showPage(self) -> None:
        Canvas.showPage(self)

    def _setAnnotations(self, page: Any) -> None:
        Canvas._setAnnotations(self, page)

    def save(self) -> None:
        Canvas.save(self)


def bare(buffer: io.BytesIO, kind: type[Canvas] = Canvas) -> Any:
    """The canvas of the library, without marks, structure or the last hand on the file."""
    register_fonts()
    return kind(buffer, pagesize=A4, initialFontName="R", invariant=1, pageCompression=1)


def saved(canvas: Canvas, buffer: io.BytesIO, out: object = None) -> bytes:
    canvas.save()
    return buffer.getvalue()


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
    return saved(canvas, buffer)


def words(pages: list[list[str]]) -> bytes:
    """The strings of each page, one by one."""
    buffer = io.BytesIO()
    canvas = bare(buffer)
    for strings in pages:
        canvas.setFont("R", 9.5)
        for n, string in enumerate(strings):
            canvas.drawString(68 + n % 7 * 60, 780 - n // 7 * 12, string)
        canvas.showPage()
    return saved(canvas, buffer)


def untagged(work: Callable[[], bytes], module: Any) -> bytes:
    """The same drawing, without tags."""
    with (
        mock.patch.object(module, "new_canvas", lambda buffer, *rest: bare(buffer, Silent)),
        mock.patch.object(module, "finish", saved),
    ):
        return work()


def bare_certificate(strings: list[str], url: str) -> bytes:
    buffer = io.BytesIO()
    canvas = bare(buffer, Silent)
    canvas.setPageSize(landscape(A4))
    for n, string in enumerate(strings):
        canvas.setFont("RMBXI"[n % 5], 9.5)
        canvas.drawString(68 + n % 3 * 200, 560 - n // 3 * 14, string)
    paper.qr(canvas, url, 300, 300, 25 * mm)
    canvas.showPage()
    return saved(canvas, buffer)


def least(work: Callable[[], object], runs: int = RUNS) -> float:
    """Seconds of the processor: the least of the runs."""
    took = []
    for _ in range(runs):
        start = time.process_time()
        work()
        took.append(time.process_time() - start)
    return min(took)


def of_binders(sizes: Sequence[int] = SIZES, runs: int = RUNS) -> None:
    per_page = []
    for people in sizes:
        content = full(people, EACH)
        data = binder.build(content)
        pages = [page.extract_text().splitlines() for page in pypdf.PdfReader(io.BytesIO(data)).pages]
        count, strings = len(pages), sum(map(len, pages)) / len(pages)
        took = least(lambda: binder.build(content), runs)  # noqa: B023
        plain = untagged(lambda: binder.build(content), binder)  # noqa: B023
        silent = least(lambda: untagged(lambda: binder.build(content), binder), runs)  # noqa: B023
        floor, same = least(lambda: lines(count), runs), least(lambda: words(pages), runs)  # noqa: B023
        per_page.append(took / count)
        records = f"{people} people, {people * EACH:,} records"
        print(f"{records}, {count} pages, {strings:.0f} strings a page: {count / took:.0f} pages/s")
        print(f"  {took / floor:.2f} x a bare canvas of 45 lines a page, {took / same:.2f} x one of the same strings")
        print(
            f"  without tags {silent / same:.2f} x; tags cost {took / silent:.2f} x the time, {len(data) / len(plain):.2f} x the file"
        )
        before, peak = map(int, alone(PEAK, str(people), str(EACH)))
        print(
            f"  a file of {len(data) / 1e6:.1f} MB; memory {before} MB with its content, {peak} MB at the most, of "
            f"{ROOM + 2 * len(data) / 1e6:.0f} MB ({ROOM} and twice the file)"
        )
    print(f"growth of seconds a page from 1x to {sizes[-1] / sizes[0]:.0f}x: {per_page[-1] / per_page[0]:.2f}")


def of_certificates() -> None:
    content = certificate()
    data = certificates.build(content)
    strings = pypdf.PdfReader(io.BytesIO(data)).pages[0].extract_text().splitlines()
    each = least(lambda: [certificates.build(content) for _ in range(BULK)]) / BULK
    silent = least(lambda: [untagged(lambda: certificates.build(content), certificates) for _ in range(BULK)]) / BULK
    floor = least(lambda: [bare_certificate(strings, content.check_url) for _ in range(BULK)]) / BULK
    loaded, first = map(float, alone(FIRST))
    print(
        f"certificate: the first {first * 1000:.0f} ms, after {loaded * 1000:.0f} ms of loading what it is drawn with"
    )
    print(
        f"  {BULK} of them {each * 1000:.1f} ms each: {each / floor:.2f} x a bare canvas with the same strings and square"
    )
    print(f"  tags cost {each / silent:.2f} x the time; {len(data) / 1024:.0f} KB")


if __name__ == "__main__":
    pypdf.overwrite_configuration(
        array_maximum_element_count=10**7
    )  # a structure leads back from every mark in one list
    if sys.argv[1:] == ["--full"]:
        of_binders(FULL, runs=1)
    else:
        of_certificates()
        of_binders()
