"""Photos from a phone or a tablet, made anew before they are kept.

Only what is seen survives: no place, no camera, no hidden text, nothing that is no picture. Turned the right way up.
"""

from io import BytesIO
from typing import BinaryIO

from PIL import Image, ImageOps, UnidentifiedImageError

FORMATS = ("JPEG", "PNG", "WEBP")
MOST_BYTES = 12_000_000  # what a phone sends at most
MOST_PIXELS = 60_000_000  # a small file may unfold into gigabytes
SIDE = 1600  # pixels of the longer side that are kept
TYPE = "image/jpeg"


class NotAPhoto(ValueError):
    """It is no picture that can be kept. Its words say what to do."""


def as_jpeg(file: BinaryIO, size: int) -> bytes:
    """The picture as JPEG. The same file gives the same bytes. NotAPhoto for anything else, however it is named."""
    if size > MOST_BYTES:
        raise NotAPhoto("The photo is too large. Take one of at most 12 MB.")
    try:
        with Image.open(file, formats=FORMATS) as picture:
            if picture.width * picture.height > MOST_PIXELS:
                raise NotAPhoto("The photo has too many pixels. Take a smaller one.")
            return encoded(ImageOps.exif_transpose(picture).convert("RGB"))
    except (UnidentifiedImageError, OSError, SyntaxError, Image.DecompressionBombError) as fault:
        raise NotAPhoto("This is no photo that can be read. Take one as JPEG, PNG or WebP.") from fault


def encoded(picture: Image.Image) -> bytes:
    picture.thumbnail((SIDE, SIDE))
    out = BytesIO()
    bare = Image.new("RGB", picture.size)
    bare.paste(picture)  # a new picture carries none of what came along in the old one
    bare.save(out, "JPEG", quality=82)
    return out.getvalue()
