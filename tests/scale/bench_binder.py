"""How long a binder takes beside a bare canvas that draws as many pages. Run: python -m tests.scale.bench_binder"""

import io
import time
from collections.abc import Callable
from functools import partial

import pypdf

from tests.documents.made_up import binder
from training.documents.binder.build import build
from training.documents.paper import finish, new_canvas

LINES = 45


def bare(pages: int) -> bytes:
    """The floor: one string a line, 45 lines a page, the same font."""
    buffer = io.BytesIO()
    canvas = new_canvas(buffer, "bare", "floor", "A4")
    for page in range(pages):
        canvas.setFont("R", 9.5)
        for line in range(LINES):
            canvas.drawString(
                68, 780 - 16 * line, f"{page} {line} Person Ångström, tool swap, version 4, signed by Tomas Lindqvist"
            )
        canvas.showPage()
    return finish(canvas, buffer, None)


def timed(work: Callable[[], bytes]) -> tuple[float, bytes]:
    start = time.perf_counter()
    data = work()
    return time.perf_counter() - start, data


def main() -> None:
    bare(1)
    for people in (150, 600, 2400):
        content = binder(people, 22)
        took, data = timed(partial(build, content))
        pages = len(pypdf.PdfReader(io.BytesIO(data)).pages)
        floor, _ = timed(partial(bare, pages))
        print(
            f"{people} people, {pages} pages: {pages / took:.0f} pages/s, {took / floor:.1f} x a bare canvas ({pages / floor:.0f} pages/s)"
        )


if __name__ == "__main__":
    main()
