"""Photos from a phone or a tablet, made anew before they are kept.

Only what is seen survives: no place, no camera, no hidden text, nothing that is no picture. Turned the right way up. A small
file may unfold into gigabytes, so a picture is measured by its first bytes before it is opened, and one is opened at a time.
"""

import struct
from concurrent.futures import ThreadPoolExecutor
from io import BytesIO
from typing import BinaryIO

from PIL import Image, ImageDraw, ImageOps

MOST_BYTES = 12_000_000  # what a phone sends at most
# Pixels that are unfolded at most, by format. A JPEG is read at a half, a quarter or an eighth of its size.
MOST_PIXELS = {"JPEG": 50_000_000, "PNG": 25_000_000, "WEBP": 25_000_000}
LIMITS = "At most 12 MB; as JPEG at most 50 million pixels, as PNG or WebP at most 25."  # said before one is taken
SIDE = 1600  # pixels of the longer side that are kept
TYPE = "image/jpeg"
ACROSS, DOWN = 6, 4  # parts of a picture that can be covered, each by itself
COVER = "#48605a"
# What the library raises for files that are none, or that end early or lie about themselves.
MALFORMED = (
    OSError, SyntaxError, ValueError, EOFError, LookupError, OverflowError, struct.error, Image.DecompressionBombError,
)  # fmt: skip
# One thread for all: a thread of its own for each picture would keep a gigabyte of freed memory beside the next.
one_at_a_time = ThreadPoolExecutor(1, thread_name_prefix="photos")


class NotAPhoto(Exception):
    """It is no picture that can be kept. Its words say what to do."""


def as_jpeg(file: BinaryIO, size: int) -> bytes:
    """The picture as JPEG. The same file gives the same bytes. NotAPhoto for anything else, however it is named."""
    if size > MOST_BYTES:
        raise NotAPhoto("The photo is too large. Take one of at most 12 MB.")
    try:
        return one_at_a_time.submit(made_anew, file).result()
    except MALFORMED as fault:
        raise NotAPhoto("This is no photo that can be read. Take one as JPEG, PNG or WebP.") from fault


def made_anew(file: BinaryIO) -> bytes:
    with Image.open(file, formats=list(MOST_PIXELS)) as picture:  # reads the head only
        refuse_too_many(picture)
        return encoded(upright(picture))


def refuse_too_many(picture: Image.Image) -> None:
    most = MOST_PIXELS[str(picture.format)]
    if picture.width * picture.height > most:
        raise NotAPhoto(
            f"The photo has too many pixels: {picture.width} × {picture.height}. "
            f"As {picture.format} it may have {most // 1_000_000} million; take a smaller one."
        )


def upright(picture: Image.Image) -> Image.Image:
    """Small first, then turned: the whole of it is held once, or twice where its colours have to be made anew."""
    share = 2 * SIDE / max(picture.size)
    picture.draft("RGB", (int(picture.width * share), int(picture.height * share)))  # only a JPEG can
    small = picture if picture.mode == "RGB" else picture.convert("RGB")
    small.thumbnail((SIDE, SIDE))
    return ImageOps.exif_transpose(small).convert("RGB")


def encoded(picture: Image.Image) -> bytes:
    picture.thumbnail((SIDE, SIDE))
    out = BytesIO()
    bare = Image.new("RGB", picture.size)
    bare.paste(picture)  # a new picture carries none of what came along in the old one
    bare.save(out, "JPEG", quality=82)
    return out.getvalue()


def covered(picture: bytes, cells: frozenset[int]) -> bytes:
    """One of our own pictures with parts of it covered, numbered from the left and from the top, from 0. Nothing of what
    stood there is left in it. ValueError for a part that there is not."""
    if not cells <= frozenset(range(ACROSS * DOWN)):
        raise ValueError(f"A picture has {ACROSS * DOWN} parts, numbered from 0.")
    with Image.open(BytesIO(picture)) as shown:
        bare = shown.convert("RGB")
    draw, wide, high = ImageDraw.Draw(bare), bare.width / ACROSS, bare.height / DOWN
    for cell in cells:
        row, column = divmod(cell, ACROSS)
        draw.rectangle(
            (int(column * wide), int(row * high), int((column + 1) * wide), int((row + 1) * high)), fill=COVER
        )
    return encoded(bare)
