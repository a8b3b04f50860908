"""Until when somebody signs in by password alone. Common practice, no source: fourteen days."""

from datetime import date

import pytest

from clinic.rules.devices import device_in_words
from clinic.rules.second_factor import last_day_without

OPENED = date(2026, 3, 2)


@pytest.mark.parametrize(
    ("began", "last"),
    [
        ([], None),
        ([date(2026, 3, 9)], date(2026, 3, 23)),
        ([date(2026, 4, 1), date(2026, 3, 9)], date(2026, 3, 23)),
        ([date(2025, 1, 6)], date(2026, 3, 16)),
    ],
    ids=["no such post", "a post", "the first of two", "a post older than the account"],
)
def test_a_post_gives_fourteen_days(began: list[date], last: date | None) -> None:
    assert last_day_without(began, OPENED) == last


# What browsers wrote of themselves, abridged; from memory.
@pytest.mark.parametrize(
    ("wrote", "said"),
    [
        ("Mozilla/5.0 (Windows NT 10.0; Win64; x64; rv:140.0) Gecko/20100101 Firefox/140.0", "Firefox on Windows"),
        ("Mozilla/5.0 (Windows NT 10.0) AppleWebKit/537.36 Chrome/138.0 Safari/537.36 Edg/138.0", "Edge on Windows"),
        ("Mozilla/5.0 (Linux; Android 10; K) AppleWebKit/537.36 Chrome/138.0 Safari/537.36", "Chrome on Android"),
        (
            "Mozilla/5.0 (iPad; CPU OS 18_5 like Mac OS X) AppleWebKit/605.1 Version/18.5 Safari/604.1",
            "Safari on an iPad",
        ),
        ("Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 HeadlessChrome/138.0 Safari/537.36", "Chrome on Linux"),
        ("curl/8.5", "a browser"),
        ("", "a browser"),
    ],
)
def test_a_device_is_told_in_plain_words(wrote: str, said: str) -> None:
    assert device_in_words(wrote) == said
