"""A picture is measured before it is opened: what it may unfold into is known, whoever sends it and however many do."""

import struct
import subprocess
import sys
import zlib
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from clinic.photos import LIMITS, MOST_PIXELS, SIDE, NotAPhoto, as_jpeg
from tests.house.sources import ROOT

MOST = 400_000_000  # bytes of the whole process: one picture at a time, each unfolded twice
SIX_AT_ONCE = """
import re, sys
from concurrent.futures import ThreadPoolExecutor
from io import BytesIO
from pathlib import Path
from clinic.photos import as_jpeg
data = Path(sys.argv[1]).read_bytes()
with ThreadPoolExecutor(6) as pool:
    list(pool.map(lambda _: as_jpeg(BytesIO(data), len(data)), range(6)))
# its own peak: what getrusage says would be that of the process which started it, where that was larger
print(int(re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1]) * 1024)
"""


def kept(data: bytes) -> Image.Image:
    return Image.open(BytesIO(as_jpeg(BytesIO(data), len(data))))


def saved(picture: Image.Image, kind: str, **more: object) -> bytes:
    out = BytesIO()
    picture.save(out, kind, **more)
    return out.getvalue()


def png_that_says(width: int, height: int) -> bytes:
    """The head of a PNG, with nothing after it (PNG, third edition, 11.2.1 IHDR; from memory)."""
    head = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 6, 0, 0, 0)
    start = b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + head + struct.pack(">I", zlib.crc32(head))
    return start + struct.pack(">I", 10**9) + b"IDAT"


def webp_that_says(width: int, height: int) -> bytes:
    """A moving WebP of eight by eight whose canvas claims more (RFC 9649, 2.7, VP8X: 24 bits each, less one; from memory)."""
    small = [Image.new("RGB", (8, 8), shade) for shade in ("grey", "white")]
    data = bytearray(saved(small[0], "WEBP", save_all=True, append_images=small[1:], duration=100))
    at = data.index(b"VP8X") + 12
    data[at : at + 6] = (width - 1).to_bytes(3, "little") + (height - 1).to_bytes(3, "little")
    return bytes(data)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (png_that_says(5001, 5000), "5001 × 5000. As PNG it may have 25 million"),
        (png_that_says(100_000, 100_000), "JPEG, PNG or WebP"),  # beyond what the library itself opens
        (webp_that_says(6_000, 6_000), "6000 × 6000. As WEBP it may have 25 million"),
    ],
)
def test_what_unfolds_into_too_much_is_refused_by_its_head_alone(data: bytes, says: str) -> None:
    with pytest.raises(NotAPhoto, match=says):
        as_jpeg(BytesIO(data), len(data))


def test_the_limits_are_said_before_a_photo_is_taken() -> None:
    """Twelve megabytes, and what the best phones make (48 million pixels; common practice, no source)."""
    assert {kind: most // 1_000_000 for kind, most in MOST_PIXELS.items()} == {"JPEG": 50, "PNG": 25, "WEBP": 25}
    assert "12 MB" in LIMITS and "50 million pixels" in LIMITS and "PNG or WebP at most 25" in LIMITS


@pytest.mark.parametrize("mode", ["1", "L", "P", "RGBA", "LA", "I;16"])
def test_every_way_of_holding_colours_is_read(mode: str) -> None:
    assert kept(saved(Image.new(mode, (30, 20)), "PNG")).size == (30, 20)


def test_a_picture_that_lies_on_its_side_is_turned_after_it_was_made_small() -> None:
    """Exif tag 0x0112, 6: turn a quarter to the right (Exif 2.32; from memory)."""
    exif = Image.Exif()
    exif[0x0112] = 6
    for kind in ("JPEG", "PNG"):
        assert kept(saved(Image.new("RGB", (4000, 1000)), kind, exif=exif)).size == (SIDE // 4, SIDE), kind


def test_a_head_that_lies_about_its_parts_is_no_photo() -> None:
    whole = saved(Image.new("RGB", (40, 40)), "JPEG", exif=Image.Exif())
    for cut in range(2, len(whole) - 2, 7):
        with pytest.raises(NotAPhoto):
            as_jpeg(BytesIO(whole[:cut]), cut)


def test_six_small_files_that_unfold_do_not_fill_the_memory(tmp_path: Path) -> None:
    """Six such at once took 4 GB when each was unfolded four times over, all side by side."""
    place = tmp_path / "small.png"
    Image.new("RGBA", (6000, 4000)).save(place, compress_level=1)
    assert place.stat().st_size < 2_000_000
    done = subprocess.run(
        [sys.executable, "-c", SIX_AT_ONCE, str(place)], cwd=ROOT, capture_output=True, text=True, check=True
    )
    print("six pictures of 24 million pixels at once:", int(done.stdout) // 1_000_000, "MB")
    assert int(done.stdout) < MOST
